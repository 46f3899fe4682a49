"""How a trapped piece goes in: its positions one after the other, and where it is tight.

To scale. Line kinds are those of ISO 128: continuous thick for the piece at home, dashed for the
position where least is to spare, continuous thin for the others, thin hatching for what is solid.

Frame: mm of the picture, origin at its lower-left corner, y up.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import counter_clockwise
from scribe.geom.region import Area, inside_box, intersection, simplified, swept, union
from scribe.output.piece.drawing import LineKind, Path, Picture, Text, centred, text_box
from scribe.output.piece.free_space import FreeSpace, hatching
from scribe.passage import Passage
from scribe.piece import Polygon
from scribe.quantity import format_mm, round_down_mm, round_up_mm

Array = npt.NDArray[np.float64]

_BAND, _HATCH = 4.5, 1.6  # mm of solid shown beside a wall; from one hatching line to the next
_SIDE, _FOOT, _HEAD = 13.0, 7.5, 9.0  # mm kept free beside, below and above the positions
_WORD, _SMALL = 2.6, 2.2  # heights of capitals
_RING = 2.2  # mm, radius of the ring round a tight place
_NEAR = 9.0  # mm from where a number had best stand
_DETAIL = 0.05  # mm on the picture


def way_in_picture(passage: Passage, size: tuple[float, float]) -> Picture:
    """The positions from free to home, as wide as size and no higher."""
    return _Shown(passage, size).picture()


def way_in_words(passage: Passage) -> str:
    """What the picture shows."""
    seen = "seen from its face, the way in upwards"
    if passage.way == "tilt":
        seen = "a section, seen from the front"
    return (
        f"{passage.words}: {seen}. To scale. The numbers follow each other; dashed is the position "
        "with least to spare, rings say where; thick is its place."
    )


class _Shown:
    """A passage laid into a picture."""

    def __init__(self, passage: Passage, size: tuple[float, float]) -> None:
        self.passage = passage
        every = np.vstack(passage.positions)
        self.low, span = every.min(axis=0), np.ptp(every, axis=0)
        free = np.array(size) - [2.0 * _SIDE, _FOOT + _HEAD]
        self.scale = float(min(free / span))
        self.size = (size[0], float(span[1]) * self.scale + _FOOT + _HEAD)
        self.corner = np.array([(size[0] - span[0] * self.scale) / 2.0, _FOOT])
        self.rings = [self.placed(each) for each in passage.positions]
        self.spots = self.placed(passage.spots)
        left, right = self.rings[-1][:, 0].min() - _BAND, self.rings[-1][:, 0].max() + _BAND
        frames = [(0.0, 0.0, *self.size)] * 2 + [(float(left), 0.0, float(right), self.size[1])]
        pushes = np.array([[-_BAND, 0.0], [_BAND, 0.0], [0.0, _BAND]])
        self.walls = [
            (simplified(part, _DETAIL), push)
            for wall, push, frame in zip(passage.walls, pushes, frames, strict=False)
            for part in inside_box(self.placed(wall), frame)
        ]

    def placed(self, points: Array) -> Array:
        """(N, 2) of the passage, in the picture."""
        return np.asarray((points - self.low) * self.scale + self.corner)

    def picture(self) -> Picture:
        """Everything."""
        home, tight = len(self.rings) - 1, self.passage.tight
        paths = self._solid()
        kinds: dict[int, LineKind] = {tight: "bridged", home: "cut"}
        for number, ring in enumerate(self.rings):
            paths.append(Path(ring, kinds.get(number, "thin"), closed=True))
        paths += [Path(_circle(spot), "cut") for spot in self.spots]
        return Picture(self.size, tuple(paths), tuple(self._words()))

    def _solid(self) -> list[Path]:
        """The walls: a band of hatching behind a thin line."""
        width, height = self.size
        frame = Area(np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]))
        hatched = [
            Path(hatch)
            for part in union(
                [
                    band
                    for line, push in self.walls
                    for whole in swept(line, push)
                    for band in intersection(whole, frame)
                ]
            )
            for hatch in hatching(Polygon(counter_clockwise(part.outer), part.holes), _HATCH)
        ]
        return hatched + [Path(line) for line, _ in self.walls]

    def _words(self) -> list[Text]:
        """Numbers in the order of going in, what is to spare, and what both ends are called."""
        width, height = self.size
        page = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
        free = FreeSpace(Polygon(page), (0.0, 0.0, width, height))
        closed = (np.vstack([ring, ring[:1]]) for ring in self.rings)
        for line in (*closed, *(wall for wall, _ in self.walls)):
            free.take_line(line, 0.6)
        for spot in self.spots:
            free.take((*(spot - _RING), *(spot + _RING)), 0.6)
        texts = []
        for number, ring in enumerate(self.rings):
            text = Text((0.0, 0.0), self._said(number), _WORD, bold=True)
            a, b, c, d = text_box(text)
            wish = self._beside(ring)
            at = free.place((c - a + 1.0, d - b + 0.6), wish)
            # A bare number far from its position says nothing.
            if at is not None and (":" in text.words or np.hypot(*(at - wish)) < _NEAR):
                texts.append(centred(text, at))
                free.take(text_box(texts[-1]), 0.5)
        for name, x in zip(self.passage.names, self._beyond_walls(), strict=True):
            texts.append(Text((x, height / 2.0), name, _SMALL, "middle", 90.0))
        return texts

    def _beside(self, ring: Array) -> Array:
        """(2,) where the number of a position had best stand: at what is furthest from home, or
        inside its front.
        """
        moved = ring - self.rings[-1]
        low, high = ring.min(axis=0), ring.max(axis=0)
        if float(np.ptp(moved, axis=0).max()) < _WORD:  # it isn't turned
            return np.array([(low[0] + high[0]) / 2.0, low[1] + 0.9 * _WORD])
        end = ring[int(np.hypot(*moved.T).argmax())]
        beyond = 1.4 * _WORD * np.sign(end[1] - self.rings[-1][:, 1].mean())
        return np.asarray(end + 0.12 * (ring.mean(axis=0) - end) + [0.0, beyond])

    def _beyond_walls(self) -> tuple[float, float]:
        """x of the names of both ends, outside the hatching."""
        left, right = (
            [part for part, push in self.walls if push[0] == side] for side in (-_BAND, _BAND)
        )
        return (
            min(float(part[:, 0].min()) for part in left) - _BAND - 1.0,
            max(float(part[:, 0].max()) for part in right) + _BAND + 1.0 + _SMALL,
        )

    def _said(self, number: int) -> str:
        word = str(number + 1)
        if number == len(self.rings) - 1:
            word += ": home"
        if number != self.passage.tight:
            return word
        spare = self.passage.spare
        much = round_down_mm(spare, 0.1) if spare >= 0.0 else round_up_mm(-spare, 0.1)
        mark = ", " if ":" in word else ": "
        return f"{word}{mark}{format_mm(much, 1)} mm {'to spare' if spare >= 0.0 else 'too wide'}"


def _circle(centre: Array) -> Array:
    turn = np.linspace(0.0, 2.0 * np.pi, 33)
    return np.asarray(centre + _RING * np.column_stack([np.cos(turn), np.sin(turn)]))
