"""Target: where every mark of a printed sheet lies, in the sheet frame.

Sheet frame: mm, origin at the lower-left corner of the sheet (of the strip, for the
strip form; of the board, for a described board), x right, y up.

A sheet of ours carries bands of checker two squares deep. The points measured are the
crossings inside a band, where four squares meet: ink that spreads and blur that rounds
leave a crossing where it is. Every white square holds a marker. Half of the markers say
where on the sheet they are ("place" markers), the others say which sheet it is
("number" markers), so that any part may be hidden and no two sheets are alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.standards import PAPER_MM

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]
Form = Literal["window", "strip", "board"]

DICTIONARY = "DICT_5X5_1000"
MODULES = 7  # a marker is 5 x 5 modules inside a border one module wide

# Marker identities are shared out: places first, a range for each kind of sheet, then numbers.
PLACE_BASE: dict[tuple[str, Form], int] = {
    ("A4", "window"): 0,
    ("Letter", "window"): 60,
    ("A3", "window"): 120,
    ("A4", "strip"): 180,
    ("Letter", "strip"): 220,
    ("A3", "strip"): 260,
}
NUMBER_BASE = 300
LAST_NUMBER = 1000 - NUMBER_BASE
STRIPS_TO_A_PAGE = 4

_SQUARE_MM = {"A4": 9.0, "Letter": 9.0, "A3": 12.0}
_MARKER_PART = 0.74  # of a square's side; leaves room round each crossing
_DEEP = 2  # squares across a band

# The margins of a window sheet hold the check bars, the name and the arrow to the wall.
_MARGIN_LEFT, _MARGIN_RIGHT, _MARGIN_BELOW, _MARGIN_ABOVE = 12.0, 8.0, 14.0, 12.0
_STRIP_EDGE = 5.0  # from the paper's edge to the outer cut lines
_STRIP_INSET = 2.0  # from a cut line to the marks
_CROSS_INSET = 7.0  # from the ends of a strip's clear middle to its crosses


@dataclass(frozen=True)
class Target:
    """The marks of one sheet, one cut strip or one described board.

    name: as printed on it. paper: name of the paper, "" for a described board.
    size: (width, height) mm. number: of the sheet or strip, 0 for a described board.
    crossings: (N, 2) mm, the measuring points; empty for a grid of markers.
    markers: (M, 4, 2) mm, corners from the upper left, clockwise as seen.
    ids: (M,) identity of each marker in `dictionary`.
    squares: (B, 4) black squares as x0, y0, x1, y1.
    window: the clear area inside the marks, or None.
    """

    name: str
    form: Form
    paper: str
    size: tuple[float, float]
    number: int
    dictionary: str
    crossings: Array
    markers: Array
    ids: npt.NDArray[np.int64]
    squares: Array
    square_mm: float
    window: Box | None = None

    @property
    def is_place(self) -> npt.NDArray[np.bool_]:
        """(M,) True for the markers whose identity tells where on the sheet they are."""
        if self.form == "board":
            return np.ones(len(self.ids), bool)
        return self.ids < NUMBER_BASE

    @property
    def crosses(self) -> dict[str, tuple[float, float]]:
        """Places of the lettered crosses from which a person measures: on strips, else none."""
        if self.form != "strip" or self.window is None:
            return {}
        x0, y0, x1, y1 = self.window
        middle = (y0 + y1) / 2.0
        return {"A": (x0 + _CROSS_INSET, middle), "B": (x1 - _CROSS_INSET, middle)}

    def marker_corners(self) -> Array:
        """(4 M, 2) every marker's corners, in the order of `ids`."""
        return self.markers.reshape(-1, 2)


@dataclass(frozen=True)
class Page:
    """One page to print: its targets with the place of their lower-left corner on it."""

    paper: str
    size: tuple[float, float]
    targets: tuple[tuple[Target, tuple[float, float]], ...]


def page(paper: str, form: Form, copy: int) -> Page:
    """The page that `copy` (1, 2, ...) of a print shows."""
    width, height = paper_size(paper)
    if form == "window":
        return Page(paper, (width, height), ((window_sheet(paper, copy), (0.0, 0.0)),))
    targets = []
    for row in range(STRIPS_TO_A_PAGE):
        strip = strip_sheet(paper, STRIPS_TO_A_PAGE * (copy - 1) + row + 1)
        top = width - _STRIP_EDGE - row * strip.size[1]
        targets.append((strip, (_STRIP_EDGE, top - strip.size[1])))
    return Page(paper, (height, width), tuple(targets))


def window_sheet(paper: str, number: int) -> Target:
    """A ring of marks round a clear window, on the paper as it stands (portrait)."""
    width, height = paper_size(paper)
    side = _SQUARE_MM[paper]
    across = int((width - _MARGIN_LEFT - _MARGIN_RIGHT) // side)
    up = int((height - _MARGIN_BELOW - _MARGIN_ABOVE) // side)
    x0 = _MARGIN_LEFT + (width - _MARGIN_LEFT - _MARGIN_RIGHT - across * side) / 2
    y0 = _MARGIN_BELOW + (height - _MARGIN_BELOW - _MARGIN_ABOVE - up * side) / 2
    ring = [
        (i, j)
        for j in range(up)
        for i in range(across)
        if not (_DEEP <= i < across - _DEEP and _DEEP <= j < up - _DEEP)
    ]
    inner = _DEEP * side
    window = (x0 + inner, y0 + inner, x0 + across * side - inner, y0 + up * side - inner)
    return _sheet("window", paper, (width, height), number, [(ring, x0, y0)], window)


def strip_sheet(paper: str, number: int) -> Target:
    """A strip with a band of marks along both long sides, in the frame of its own corner."""
    height, width = paper_size(paper)  # the page lies on its side
    length = width - 2 * _STRIP_EDGE
    deep = (height - 2 * _STRIP_EDGE) / STRIPS_TO_A_PAGE
    side = _SQUARE_MM[paper]
    across = int((length - 2 * _STRIP_INSET) // side)
    x0 = (length - across * side) / 2
    band = [(i, j) for j in range(_DEEP) for i in range(across)]
    bands = [(band, x0, _STRIP_INSET), (band, x0, deep - _STRIP_INSET - _DEEP * side)]
    window = (x0, bands[0][2] + _DEEP * side, x0 + across * side, bands[1][2])
    return _sheet("strip", paper, (length, deep), number, bands, window)


def numbered(target: Target, number: int) -> Target:
    """The same kind of sheet with another number."""
    sheet = window_sheet if target.form == "window" else strip_sheet
    return sheet(target.paper, number)


def paper_size(paper: str) -> tuple[float, float]:
    """(width, height) mm of a named paper as it stands; refuses a name it doesn't know."""
    if paper not in _SQUARE_MM:
        raise ScribeError(
            "target-paper",
            what="there is no target for this paper",
            where=f"paper {paper!r}",
            do=f"choose one of {', '.join(_SQUARE_MM)}",
        )
    return PAPER_MM[paper]


def _sheet(
    form: Form,
    paper: str,
    size: tuple[float, float],
    number: int,
    bands: list[tuple[list[tuple[int, int]], float, float]],
    window: Box,
) -> Target:
    """Lay squares, crossings and markers over bands of cells (cells, x of cell 0, y of cell 0)."""
    if not 1 <= number <= LAST_NUMBER:
        raise ScribeError(
            "target-number",
            what=f"sheets are numbered up to {LAST_NUMBER}, strips count singly",
            where=f"sheet {number}",
            do="print fewer copies",
        )
    side = _SQUARE_MM[paper]
    black: list[list[float]] = []
    white: list[Array] = []
    ids: list[int] = []
    place = PLACE_BASE[paper, form]
    crossings: list[tuple[float, float]] = []
    for cells, x0, y0 in bands:
        known = set(cells)
        for i, j in cells:
            x, y = x0 + i * side, y0 + j * side
            if (i + j) % 2 == 0:
                black.append([x, y, x + side, y + side])
            else:
                white.append(marker_at(x, y, side, _MARKER_PART * side))
                # By pairs in both directions, so that each side of a ring has both kinds.
                if (i // 2 + j // 2) % 2 == 0:
                    ids.append(place)
                    place += 1
                else:
                    ids.append(NUMBER_BASE + number - 1)
            if {(i - 1, j), (i, j - 1), (i - 1, j - 1)} <= known:
                crossings.append((x, y))
    return Target(
        name=f"scribe {paper} {form} {number}",
        form=form,
        paper=paper,
        size=size,
        number=number,
        dictionary=DICTIONARY,
        crossings=np.array(crossings),
        markers=np.array(white),
        ids=np.array(ids),
        squares=np.array(black),
        square_mm=side,
        window=window,
    )


def marker_at(x: float, y: float, side: float, size: float) -> Array:
    """(4, 2) corners of a marker centred in the square at x, y: upper left first, clockwise."""
    low = (side - size) / 2
    x0, y0, x1, y1 = x + low, y + low, x + low + size, y + low + size
    return np.array([[x0, y1], [x1, y1], [x1, y0], [x0, y0]])
