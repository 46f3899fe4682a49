"""The words of a template, each whole within one window: a page, or a part of the drawing.

Every window tells by itself what to keep, what is waste, which side of the piece is seen,
which way is up and where the wall is: a fitter cuts with one sheet in his hand. Words about
the piece stand inside the part they speak of, those about the wall outside of the blank.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import resample
from scribe.output.piece.drawing import Box, Layer, Path, Text, centred
from scribe.output.piece.free_space import FreeSpace
from scribe.output.piece.holes import hole_size, is_lid
from scribe.output.word_window import GAP, WordWindow
from scribe.piece import CutEdge, HoleCut, Piece, Polygon

Array = npt.NDArray[np.float64]
Note = tuple[Array, str]

FACE = "FACE - seen when fitted"
BACK = "BACK - cut from this side"
UP, TOP = "UP", "TOP"
MIRRORED = "MIRRORED - CUT FROM THE BACK"

SMALLEST = 3.5  # mm, height of capitals that can be read at arm's length
_INWARD, _OUTWARD = 20.0, 34.0  # mm from a cut to the words that belong to its two sides
_NEAR = 45.0  # mm from an end to the words that name it
_DENSE = 5.0  # mm between points looked at along a cut


def words(
    piece: Piece,
    notes: Sequence[Note],
    *,
    mirrored: bool,
    windows: Sequence[Polygon],
    taken: Sequence[Box],
) -> Layer:
    """The layer "labels". piece: as it is seen on the drawing. notes: words to stand beside
    points. taken: boxes to keep clear of.
    """
    sheets = [_Said(piece, window, taken) for window in windows]
    for sheet in sheets:
        sheet.write(notes, mirrored)
    return Layer(
        "labels",
        tuple(path for sheet in sheets for path in sheet.paths),
        tuple(text for sheet in sheets for text in sheet.texts),
    )


def up_word(piece: Piece) -> str:
    """What stands beside the arrow: a piece that lies level has no edge that points up."""
    return TOP if piece.level else UP


def visible_edge(piece: Piece) -> Array | None:
    """(2, 2) ends of the blank's edge opposite the first cut; None if that is cut as well."""
    cut, outer = piece.cuts[0], piece.blank.shape.outer
    if any(float(other.out @ cut.out) < -0.5 for other in piece.cuts):
        return None
    depth = float((outer @ -cut.out).max())
    ends = float((outer @ cut.along).min()), float((outer @ cut.along).max())
    return np.array([end * cut.along - depth * cut.out for end in ends])


def upright(along: Array) -> float:
    """The angle of a direction at which words stand upright or read from the right."""
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    return angle - 180.0 if angle > 91.0 else angle + 180.0 if angle <= -89.0 else angle


def squarely(along: Array) -> float:
    """0 or 90 degrees, whichever is nearer to a direction: words stand square on the sheet."""
    return 90.0 if abs(float(along[1])) > abs(float(along[0])) else 0.0


class _Said(WordWindow):
    """What one window has to say."""

    def write(self, notes: Sequence[Note], mirrored: bool) -> None:
        """Everything this window has to say, the most important first."""
        for part in self.piece.waste:
            self._waste(part)
        for hole in self.piece.holes:
            self._hole(hole)
        for line in self.piece.splits:
            self._split(line)
        middles = [(cut, self._middle(cut)) for cut in self.piece.cuts]
        beside = [(cut, at) for cut, at in middles if at is not None]
        for cut, at in beside:
            self.put(self.keep, at - _INWARD * cut.out, [("KEEP", 8.0), ("KEEP", 5.0)])
        if not beside:  # a sheet that only joins others
            middle = np.array([np.mean(self.window[::2]), np.mean(self.window[1::2])])
            self.put(self.keep, middle, [("KEEP", 6.0)])
            if not any(self.sees(at) for hole in self.piece.holes for at in hole.through):
                self.put(self.keep, middle, [("no edge to cut here", 4.5)], bold=False)
            self._edge()
            self._notes(notes)
            self._sides(middle, 0.0, mirrored)
            return
        for cut, at in beside:  # first, since these are true only near their places
            self._end(cut)
            self._wall(cut, at)
        self._edge()
        self._notes(notes)
        cut, at = beside[0]
        inner = at - _INWARD * cut.out
        self._sides(inner, squarely(cut.along), mirrored)
        self.put(self.keep, inner - 60.0 * cut.along, [(self.piece.name, 5.0)], bold=False)

    def _sides(self, inner: Array, angle: float, mirrored: bool) -> None:
        """Which side of the piece is seen, and which way is up."""
        if mirrored:
            loud = [(MIRRORED, 8.0), (MIRRORED, 6.0), (MIRRORED, 4.5), ("MIRRORED", 4.5)]
            if not self.put(self.keep, inner, loud, angle_deg=angle):
                self.put(self.air, inner, loud, angle_deg=angle)
        side = BACK if mirrored else FACE
        short = side.split(" ", 1)[0]
        self.put(self.keep, inner, [(side, 6.0), (side, 4.5), (short, 6.0), (short, SMALLEST)])
        self._up(inner + 50.0 * np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))]))

    def _middle(self, cut: CutEdge) -> Array | None:
        """The middle of that part of a cut that lies in the window."""
        line = resample(cut.line, _DENSE)
        seen = self.inside(line)
        return np.asarray(line[seen][int(seen.sum()) // 2]) if seen.any() else None

    def _waste(self, part: Polygon) -> None:
        """WASTE where there is room for it; the hatching says it everywhere."""
        space = FreeSpace(part, self.window)
        space.only(self.area)
        if not space.free.any():
            return
        wanted = np.array([space.x.mean(), space.y.mean()])
        for box in self.taken:
            space.take(box, 1.0)
        said = "LID - keep" if is_lid(self.piece, part) else "WASTE"
        for size in (6.0, 4.5, SMALLEST):
            for angle_deg in (0.0, 90.0):
                if self.put(space, wanted, [(said, size)], angle_deg=angle_deg, gap=0.5):
                    return

    def _hole(self, hole: HoleCut) -> None:
        """What goes through, and what is cut for it, beside the hole."""
        if self.sees(hole.centre):
            said = f"{hole.name}: {hole_size(hole)}"
            wanted = hole.centre - np.array([0.0, hole.size[1] / 2.0 + 8.0])
            self.put(self.keep, wanted, [(said, SMALLEST), (hole.name, SMALLEST)], bold=False)

    def _split(self, line: Array) -> None:
        at_line = resample(line, _DENSE)
        seen = at_line[self.inside(at_line)]
        if len(seen):
            along = line[1] - line[0]
            said = [("SPLIT: saw here first", SMALLEST), ("SPLIT", SMALLEST)]
            at = seen[len(seen) // 3]
            self.put(self.keep, at, said, angle_deg=upright(along), within=_NEAR)

    def _up(self, wanted: Array) -> None:
        """An arrow that points up in the room, or to the top edge of what lies level: on the piece,
        else beside it, and where all is waste, in that.
        """
        up = self.piece.up
        for space in (self.keep, self.air, self.waste_space()):
            for scale in (1.0, 0.7):
                size = scale * (14.0 + 14.0 * np.abs(up)) + 2 * GAP
                centre = space.place((float(size[0]), float(size[1])), wanted)
                if centre is not None:
                    half = (size - GAP) / 2
                    space.take((*(centre - half), *(centre + half)), GAP)
                    self._arrow(centre, scale)
                    return

    def _arrow(self, centre: Array, scale: float) -> None:
        up = self.piece.up
        side = np.array([-up[1], up[0]])
        tip, neck = centre + 13 * scale * up, centre + 7 * scale * up
        head = [tip, neck + 4.5 * scale * side, neck - 4.5 * scale * side]
        shaft = np.array([neck, centre - 3 * scale * up])
        self.paths += [Path(np.array(head), "cut", closed=True), Path(shaft, "cut")]
        word = Text((0.0, 0.0), up_word(self.piece), 5.0 * scale, bold=True)
        self.texts.append(centred(word, centre - 9.0 * scale * up))

    def _wall(self, cut: CutEdge, at: Array) -> None:
        said = f"WALL SIDE: {cut.name}"
        wishes = [(said, 6.0), (said, 4.5), (said, SMALLEST), ("WALL SIDE", SMALLEST)]
        # Nearer than the cut itself, so that it can't come to stand on another side.
        wanted, angle = at + _OUTWARD * cut.out, squarely(cut.along)
        self.put(self.air, wanted, wishes, angle_deg=angle, within=_OUTWARD)

    def _end(self, cut: CutEdge) -> None:
        """The named end, in the window in which stations begin."""
        if self.sees(cut.start):
            said = f"{cut.from_end} end"
            wishes = [(f"{said}: stations start here", SMALLEST), (said, SMALLEST)]
            wanted = cut.start - 28.0 * cut.out + 6.0 * cut.along
            self.put(self.keep, wanted, wishes, bold=False, within=_NEAR)

    def _edge(self) -> None:
        """The edge that lies along the datum and isn't cut."""
        ends = visible_edge(self.piece)
        if ends is None:
            return
        line = resample(ends, _DENSE)
        seen = line[self.inside(line)]
        if len(seen):
            out = self.piece.cuts[0].out
            angle = squarely(self.piece.cuts[0].along)
            wanted = seen[len(seen) // 2] - 4.0 * out
            said = [("datum: visible edge, not cut", SMALLEST)]
            self.put(self.air, wanted, said, angle_deg=angle, bold=False, within=_NEAR / 2)

    def _notes(self, notes: Sequence[Note]) -> None:
        """Beside the points they belong to, on the piece or else beside it; what is the same at two
        points is written once.
        """
        written: set[str] = set()
        for at, said in notes:
            if said in written or not self.sees(at):
                continue
            written.add(said)
            tries = product((self.keep, self.air), (0.0, 90.0))
            for space, turn_deg in tries:
                if self.put(space, at, [(said, SMALLEST)], angle_deg=turn_deg, bold=False,
                             within=_NEAR):  # fmt: skip
                    break
