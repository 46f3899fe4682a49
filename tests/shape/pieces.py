"""Pieces of one wall, as somebody may have taken them."""

from __future__ import annotations

import numpy as np

from scribe.datum import Datum
from scribe.geom.frames import Rigid, turned
from scribe.outline import Outline

DATUM = Datum(np.zeros(2), np.array([1.0, 0.0]), "sheet axis")


def wall() -> np.ndarray:
    """1500 mm of wall with a bow, a wave, and a skirting's step of 18 mm at 1180."""
    x = np.arange(0.0, 1500.0, 1.0)
    y = 3.0 * np.sin(x / 400.0) + 0.8 * np.sin(x / 37.0)
    before, after = x <= 1180.0, x > 1180.0
    step = [[1180.0, y[before][-1] - k] for k in np.arange(1.0, 18.0)]
    return np.vstack([np.column_stack([x, y])[before], step, np.column_stack([x, y - 18.0])[after]])


def parts(line: np.ndarray, first_to: float, second_from: float) -> tuple[np.ndarray, np.ndarray]:
    return line[line[:, 0] <= first_to], line[line[:, 0] >= second_from]


def piece(points: np.ndarray, u: float = 0.05, shared: np.ndarray | None = None) -> Outline:
    budget = {"localisation": np.full(len(points), u)}
    if shared is None:
        return Outline(points, budget["localisation"], "left", DATUM, "drawn", budget=budget)
    budget["pose"] = np.hypot(*np.sqrt((shared**2).sum(axis=0)).T)
    total = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(points, total, "left", DATUM, "drawn", budget=budget, shared={"pose": shared})


def moved(points: np.ndarray) -> tuple[np.ndarray, Rigid]:
    own_from_first = turned(0.4, (310.0, -55.0))
    return own_from_first.apply(points), own_from_first
