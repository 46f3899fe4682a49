"""Marks that tell by eye whether two sheets of a template lie right, to 0.3 mm.

Two combs of oblique lines cross the line along which the upper sheet ends; each sheet has its
half. The lower combs are 0.3 mm wider spaced than the upper ones, as on a vernier: lying right,
the middle lines run on unbroken; 0.3 mm off, along the joint or across it, outer lines do. The
two combs lean opposite ways, so that a shift along the joint moves both alike and a shift across
it moves them apart: by t - n and t + n, of which the larger is never less than the shift.

A line broken by 0.15 mm, half a step, is 1.5 minutes of arc from 350 mm; a person with full
sight resolves 1 minute (ISO 8596, from memory), and broken lines far finer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import Rigid
from scribe.output.piece.drawing import Box

Array = npt.NDArray[np.float64]

STEP_MM = 0.3  # what an outer line shows
REACH_MM = 3.5  # of a comb on either side of the joint
U_MM = STEP_MM / 2.0 / 3.0**0.5 / 2.0**0.5  # two combs, each read to half a step either way
HALF_MM = 12.0  # half a mark along the joint
_PITCH = 2.0  # mm between the lines of the upper combs
_MIDDLE = 6.0  # mm from the middle of the mark to that of each comb


@dataclass(frozen=True)
class MatchMark:
    """A mark on the line where the upper sheet ends. letter: the same on both sheets.

    at: (2,) mm, its middle. along: (2,) unit vector of the line, the upper sheet to its left.
    """

    letter: str
    at: Array
    along: Array

    @property
    def corners(self) -> Array:
        """(4, 2) of what the mark takes on both sheets."""
        reach = np.array([[HALF_MM, REACH_MM], [HALF_MM, -REACH_MM]])
        return self.place(np.vstack([reach, -reach]))

    @property
    def box(self) -> Box:
        """Around its corners."""
        corners = self.corners
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def place(self, points: Array) -> Array:
        """(..., 2) of the drawing from mm (along the line, across it to the lower sheet)."""
        x, y = self.along
        return np.asarray(self.at + points @ np.array([[x, y], [y, -x]]))

    def seen(self, frame: Rigid) -> MatchMark:
        """The same in another frame."""
        return replace(self, at=frame.apply(self.at), along=frame.turn(self.along))


def combs(*, upper: bool) -> Array:
    """(2, 3, 2, 2): comb, line, end, (along the joint, across it to the lower sheet), mm."""
    pitch = _PITCH if upper else _PITCH + STEP_MM
    across = np.array([0.0, -REACH_MM if upper else REACH_MM])
    lean = np.array([-1.0, 1.0])
    foot = lean[:, None] * _MIDDLE + pitch * np.array([-1.0, 0.0, 1.0])
    along = foot[:, :, None] + lean[:, None, None] * across
    return np.stack([along, np.broadcast_to(across, along.shape)], axis=-1)


def letter_place(*, upper: bool) -> Array:
    """(2,) middle of the letter beside the combs of one sheet, as in `combs`."""
    return np.array([HALF_MM - 1.5, -1.9]) if upper else np.array([0.0, 1.9])
