"""How a blank is marked without a template: tape, station, mark, keep and waste in one picture.

Not to scale, but the edge lies and the tape is hooked where it does on the blank as one looks at
its face. Own design; line kinds are those of ISO 128.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import counter_clockwise
from scribe.output.piece.drawing import Path, Picture, Text, centred, text_box, text_corners
from scribe.output.piece.free_space import hatching
from scribe.piece import CutEdge, Polygon

Array = npt.NDArray[np.float64]

_LONG, _DEEP, _WASTE = 50.0, 25.0, 7.0  # mm of the blank along and across; of the waste
_TAPE = (2.0, 4.6)  # mm from the edge to the two sides of the tape
_OVER = 1.0  # mm from the tape to the arrow along it
_AROUND = 11.0  # for tape and words
_PLACE = 0.62  # of the length: where the mark stands that is shown
_WORD, _LETTER = 2.4, 4.2


def mark_picture(cut: CutEdge) -> Picture:
    """The picture for one cut: `a` is a station, `b` what to mark there, as in the table."""
    frame = _Frame(cut)
    x = np.linspace(0.0, _LONG, 60)
    line = np.column_stack([x, -_WASTE + 1.6 * np.sin(x / 6.0)])
    at, over = _PLACE * _LONG, _TAPE[1] + _OVER
    depth = float(np.interp(at, *line.T))
    a = frame.word("a", (0.86 * at, _TAPE[1] + 3.4), _LETTER, bold=True)
    b = frame.word("b", (at + 3.4, depth / 2.0), _LETTER, bold=True)
    waste = frame.word("WASTE", (0.3 * _LONG, -_WASTE / 2.0 - 0.3), _WORD, bold=True, lying=True)
    keep = frame.word("KEEP", (0.34 * _LONG, -_DEEP + 8.0), 3.6, bold=True)
    face = frame.word("FACE up", (0.82 * _LONG, -_DEEP + 8.0), _WORD)
    edge = np.array([[0.0, 0.0], [_LONG, 0.0]])
    border = frame.placed(np.vstack([edge, edge[::-1] - [0.0, _DEEP]]))
    fallen = Polygon(counter_clockwise(frame.placed(np.vstack([edge, line[::-1]]))))
    spared = [text_corners(b), text_corners(waste)]
    paths = [
        *(Path(hatch) for hatch in hatching(fallen, 1.8, spared)),
        Path(border, "blank", closed=True),
        Path(frame.placed(line), "cut"),
        *(Path(frame.placed(part)) for part in _tape()),
        *(Path(frame.placed(part), "cut") for part in _hook()),
        *(Path(frame.placed(part)) for part in _arrow((0.0, over), (at, over))),
        *(Path(frame.placed(part), "cut") for part in _arrow((at, _TAPE[0]), (at, depth))),
        Path(frame.placed(np.array([[at - 1.6, depth], [at + 1.6, depth]])), "cut"),
    ]
    return Picture(frame.size, tuple(paths), (a, b, waste, keep, face, frame.hooked()))


class _Frame:
    """Where a place along the edge (x) and out of the blank (y) lies in the picture."""

    def __init__(self, cut: CutEdge) -> None:
        axis = int(abs(cut.along[1]) > abs(cut.along[0]))
        self.along, self.out = np.zeros(2), np.zeros(2)
        self.along[axis] = np.sign(cut.along[axis])
        self.out[1 - axis] = np.sign(cut.out[1 - axis])
        self.cut = cut
        corners = np.array([0.0, _LONG])[:, None, None] * self.along
        corners = corners + np.array([0.0, -_DEEP])[:, None] * self.out
        low, high = corners.min(axis=(0, 1)) - _AROUND, corners.max(axis=(0, 1)) + _AROUND
        self.low, self.size = low, (float(high[0] - low[0]), float(high[1] - low[1]))

    def placed(self, points: Array) -> Array:
        """(N, 2) mm of the picture."""
        return np.asarray(points[:, :1] * self.along + points[:, 1:] * self.out - self.low)

    def word(
        self,
        words: str,
        at: tuple[float, float],
        size: float,
        *,
        bold: bool = False,
        lying: bool = False,
    ) -> Text:
        """Words whose middle lies there; upright, or lying along an upright edge."""
        angle = 90.0 if lying and abs(self.along[1]) > 0.5 else 0.0
        text = Text((0.0, 0.0), words, size, angle_deg=angle, bold=bold)
        return centred(text, self.placed(np.array([at]))[0])

    def hooked(self) -> Text:
        """Where the tape is hooked, as near the hook as it goes inside the picture."""
        said = f"hook: {self.cut.from_end} end"
        text = self.word(said, (0.0, _TAPE[1] + _OVER + 0.7 + _WORD / 2.0), _WORD)
        a, b, c, d = text_box(text)
        shift = np.maximum(0.5 - np.array([a, b]), 0.0) - np.maximum(
            np.array([c, d]) + 0.5 - np.array(self.size), 0.0
        )
        upright = abs(self.along[1]) > 0.5
        beyond = (-4.0 if upright else 0.0) * self.along
        middle = np.array([(a + c) / 2.0, (b + d) / 2.0]) + shift + beyond
        return centred(text, middle)


def _tape() -> list[Array]:
    """Both sides of the tape and its marks."""
    near, far = _TAPE
    sides = [np.array([[0.0, y], [_LONG, y]]) for y in (near, far)]
    return sides + [
        np.array([[x, near], [x, near + (1.6 if k % 5 == 0 else 0.8)]])
        for k, x in enumerate(np.arange(0.0, _LONG + 0.1, 2.0))
    ]


def _hook() -> list[Array]:
    """The hook over the named end."""
    far = _TAPE[1]
    return [np.array([[2.0, far], [-0.8, far], [-0.8, -2.5]])]


def _arrow(start: tuple[float, float], stop: tuple[float, float]) -> list[Array]:
    foot, tip = np.array(start), np.array(stop)
    along = (tip - foot) / np.hypot(*(tip - foot))
    side = np.array([-along[1], along[0]])
    neck = tip - 2.0 * along
    return [np.array([foot, tip]), np.array([neck + 0.9 * side, tip, neck - 0.9 * side])]
