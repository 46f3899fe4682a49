"""The side walls of an opening beside a piece that lies level in it: how they lean."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

Faces = Literal["up", "down"]
FACES: tuple[Faces, ...] = get_args(Faces)


@dataclass(frozen=True)
class LeaningWalls:
    """The side walls of an opening beside a piece that lies level in it.

    left, right: mm on a metre by which each leans into the opening, going up; as one stands
    before it. left_u, right_u: standard uncertainties. face: where the piece's face looks.
    """

    left: float
    right: float
    left_u: float
    right_u: float
    face: Faces = "up"


@dataclass(frozen=True)
class SurveyedWalls:
    """The same, told by a survey. level: mm above the floor, where the piece will lie."""

    survey: Path
    level: float
    face: Faces = "up"
