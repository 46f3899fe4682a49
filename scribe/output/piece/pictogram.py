"""A small picture of a piece in place: the building, the edges that meet it, and what is seen.

Not to scale: the piece is stretched to a rectangle that a thumb covers, with its notches. Line
kinds are those of ISO 128: continuous thick for the edges that are scribed, continuous thin for
the others, thin hatching for what is solid. The picture has "up" at its top, as the piece is
seen when fitted; `turned_over` shows the board as it lies for cutting from its back.

Frame: mm of the picture, origin at its lower-left corner, y up.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import counter_clockwise
from scribe.geom.region import Area, difference, intersection, offset_area, simplified, swept, union
from scribe.output.piece.drawing import Anchor, Path, Picture, Text, centred, text_box, text_size
from scribe.output.piece.free_space import FreeSpace, hatching
from scribe.output.piece.mirror import mirror
from scribe.piece import CutEdge, Piece, Polygon

Array = npt.NDArray[np.float64]

SIZE = (62.0, 46.0)  # mm of a picture on a cover and in the report
_BAND, _HATCH = 4.5, 1.6  # mm of solid shown beyond an edge; from one hatching line to the next
_DETAIL = 0.05  # mm: a tenth of the line that is drawn along the solid
_WORD, _SMALL = 2.6, 2.0  # heights of capitals
_LABEL_ROOM = 9.5  # mm round the piece for the band and the names beyond it
_SLIMMEST = 0.38  # of its other side: no piece is drawn more slender
_ARROW = 8.0
_LYING = 0.5  # of a unit vector: smaller, an arrow hardly points that way


def in_place(piece: Piece, size: tuple[float, float]) -> Picture:
    """The piece where it goes, seen from its face."""
    upright = _Upright(piece, size)
    push, said = upright.way_in()
    small = "seen from above" if piece.level else "as you see it fitted"
    arrow, words = upright.inside("FACE", small)
    paths = (*upright.solid(), *upright.borders(), *push, *arrow)
    return Picture(size, paths, (*upright.names(), *said, *words))


def turned_over(piece: Piece, size: tuple[float, float]) -> Picture:
    """The same board lying on its face: left and right have changed places."""
    upright = _Upright(mirror(piece), size)
    arrow, words = upright.inside("BACK", "the board turned over")
    return Picture(size, (*upright.borders(), *arrow), (*upright.names(), *words))


class _Upright:
    """A piece turned so that up is up, and stretched into the middle of a picture."""

    def __init__(self, piece: Piece, size: tuple[float, float]) -> None:
        x, y = piece.up
        self.up = "TOP" if piece.level else "UP"
        self.turn = np.array([[y, -x], [x, y]])
        ring = piece.keep.outer @ self.turn.T
        low, span = ring.min(axis=0), np.ptp(ring, axis=0)
        free = np.array(size) - 2.0 * _LABEL_ROOM
        wide, high = span * min(free / span)
        box = np.array([max(wide, _SLIMMEST * high), max(high, _SLIMMEST * wide)])
        box = np.minimum(box, free)
        self.scale, self.low = box / span, low
        self.corner, self.box = (np.array(size) - box) / 2.0, box
        self.piece = piece
        self.border = self.placed(piece.keep.outer)
        self.lines = [self.placed(cut.line) for cut in piece.cuts]

    def placed(self, points: Array) -> Array:
        """(N, 2) of the piece frame, in the picture."""
        return np.asarray((points @ self.turn.T - self.low) * self.scale + self.corner)

    def out(self, cut: CutEdge) -> Array:
        """(2,) unit vector towards the building."""
        return np.asarray(self.turn @ cut.out)

    def solid(self) -> list[Path]:
        """The building along each scribed edge, hatched behind the edge's own line."""
        # Hatching ends at lines that are drawn over it: few points are enough for that.
        ring = simplified(np.vstack([self.border, self.border[:1]]), _DETAIL)[:-1]
        piece = Area(counter_clockwise(ring))
        near = offset_area(piece, _BAND)[0]
        parts = [
            part
            for cut, line in zip(self.piece.cuts, self.lines, strict=True)
            for run, push in self._runs(cut, simplified(line, _DETAIL))
            for band in swept(run, 2.0 * max(self.box) * push)
            for part in intersection(near, band)
        ]
        return [
            Path(hatch)
            for whole in (union(parts) if parts else [])
            for rest in difference(whole, [piece])
            for hatch in hatching(Polygon(rest.outer, rest.holes), _HATCH)
        ]

    def _runs(self, cut: CutEdge, line: Array) -> list[tuple[Array, Array]]:
        """Stretches of a cut that face one way, and the way to the building there.

        A notch's upright side faces along the edge. Both ends are carried on past the piece.
        """
        out, along = self.out(cut), np.asarray(self.turn @ cut.along)
        ways = np.array([out, along, -along])
        left = np.column_stack([-np.diff(line[:, 1]), np.diff(line[:, 0])])
        facing = (left if cut.keep == "right" else -left) @ ways.T
        way = facing.argmax(axis=1)
        bounds = [0, *(np.flatnonzero(np.diff(way)) + 1).tolist(), len(way)]
        runs = []
        for first, last in pairwise(bounds):
            push = ways[way[first]]
            aside = _BAND * (line[last] - line[first]) / np.hypot(*(line[last] - line[first]))
            part = line[first : last + 1]
            runs.append((np.vstack([part[:1] - aside, part, part[-1:] + aside]), push))
        return runs

    def borders(self) -> list[Path]:
        """The piece thin all round, its openings, and its scribed edges thick."""
        thin = [Path(self.border, closed=True)]
        thin += [Path(self.placed(ring), closed=True) for ring in self.piece.keep.holes]
        return thin + [Path(line, "cut") for line in self.lines]

    def names(self) -> list[Text]:
        """What each scribed edge meets, beyond the band of solid."""
        texts = []
        for cut, line in zip(self.piece.cuts, self.lines, strict=True):
            out = self.out(cut)
            middle = (line.min(axis=0) + line.max(axis=0)) / 2.0
            far = float(((line - middle) @ out).max()) + _BAND + 0.8
            upright = abs(out[1]) >= abs(out[0])
            reach = self.box[0] + 14.0 if upright else self.box[1] + 14.0
            text = _fitted(cut.name, _WORD, reach)
            drop = text.size if (out[1] if upright else -out[0]) < 0.0 else 0.0
            at = middle + (far + drop) * out
            angle = 0.0 if upright else 90.0
            texts.append(Text((float(at[0]), float(at[1])), text.words, text.size, "middle", angle))
        return texts

    def inside(self, word: str, small: str) -> tuple[list[Path], list[Text]]:
        """Which face it is and which way is up, where they cross neither border nor opening."""
        (x0, y0), (x1, y1) = self.corner, self.corner + self.box
        rings = [self.placed(ring) for ring in self.piece.keep.holes]
        space = FreeSpace(Polygon(self.border, tuple(rings)), (x0, y0, x1, y1))
        middle = self.corner + self.box / 2.0
        texts: list[Text] = []
        loud = [Text((0.0, 0.0), word, size, angle_deg=angle, bold=True)
                for size in (5.0, 3.4, 2.4) for angle in (0.0, 90.0)]  # fmt: skip
        for wishes in (loud, [Text((0.0, 0.0), small, _SMALL)]):
            for text in wishes:
                a, b, c, d = text_box(text)
                at = space.place((c - a + 1.0, d - b + 0.6), middle - [0.0, 4.5 * len(texts)])
                if at is not None:
                    text = centred(text, at)
                    space.take(text_box(text), 0.3)
                    texts.append(text)
                    break
        size, up = 0.6 * min(_ARROW, float(self.box[1])), np.array([0.0, 1.0])
        at = space.place((5.0, size + _SMALL + 1.8), self.corner + self.box * [0.88, 0.5])
        if at is None:
            return [], texts
        foot = at - (size - _SMALL - 0.8) / 2.0 * up
        texts.append(Text((float(at[0]), float(foot[1]) - _SMALL - 0.8), self.up, _SMALL))
        return _arrow(foot, up, size), texts

    def way_in(self) -> tuple[list[Path], list[Text]]:
        """An arrow from the free side, where the edges that are scribed leave one."""
        push = np.sum([self.out(cut) for cut in self.piece.cuts], axis=0)
        size = float(np.hypot(*push))
        if size < 0.5 or trapped(self.piece):
            return [], self._noted()
        push = push / size
        foot = self.corner + self.box / 2.0 - push * (self.box / 2.0 + _ARROW + 0.8)
        return _arrow(foot, push, _ARROW), _beside_arrow(foot, push)

    def _noted(self) -> list[Text]:
        """Where a push alone won't do, what does stands elsewhere; said below a free lower side."""
        if any(self.out(cut)[1] < -_LYING for cut in self.piece.cuts):
            return []
        x, y = self.corner + self.box * [0.5, 0.0]
        words = "way in: see the notes" if self.piece.passage is None else "its way in is drawn"
        return [Text((float(x), float(y) - _SMALL - 2.0), words, _SMALL)]


def _beside_arrow(foot: Array, push: Array) -> list[Text]:
    """What an arrow asks: right of one that stands, on both sides of one that lies, whose length
    they take, or beyond its foot.
    """
    if abs(push[1]) < _LYING:
        x, y = foot + _ARROW / 2.0 * push
        words = (("push", 2.4), ("home", -2.4 - _SMALL))
        return [Text((float(x), float(y + above)), word, _SMALL, "middle") for word, above in words]
    x, y = foot + _ARROW / 2.0 * push + [1.8, -_SMALL / 2.0]
    anchor: Anchor = "start"
    if abs(push[0]) > _LYING:
        below = push[1] > 0.0
        x, y = foot - np.array([2.0 * np.sign(push[0]), _SMALL + 0.6 if below else -0.6])
        anchor = "start" if push[0] > 0.0 else "end"
    return [Text((float(x), float(y)), "push home", _SMALL, anchor)]


def trapped(piece: Piece) -> bool:
    """Whether two opposite edges meet the building, so that no push alone gets it in."""
    return any(float(a.out @ b.out) < -0.5 for a in piece.cuts for b in piece.cuts)


def _arrow(foot: Array, along: Array, size: float) -> list[Path]:
    """A shaft and an open head."""
    tip, side = foot + size * along, np.array([-along[1], along[0]])
    neck = tip - 2.6 * along
    return [
        Path(np.array([foot, tip]), "cut"),
        Path(np.array([neck + 1.5 * side, tip, neck - 1.5 * side]), "cut"),
    ]


def _fitted(words: str, size: float, reach: float) -> Text:
    """The words as large as they may be, no wider than reach."""
    wide, _ = text_size(Text((0.0, 0.0), words, size))
    return Text((0.0, 0.0), words, size * min(1.0, reach / wide))
