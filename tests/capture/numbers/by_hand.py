"""Readings written to a file, and read as an outline."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from scribe.capture.numbers.readings import Instrument, outline_from
from scribe.capture.numbers.readings_table import read_table
from scribe.outline import Outline

USUAL = Instrument()


def read(folder: Path, text: str, kind: str, building: str = "above", **more) -> Outline:
    path = folder / "readings.csv"
    path.write_text(text, "utf-8")
    return outline_from(read_table(path), kind, building, Instrument(**more))


def at(outline: Outline, x: float) -> float:
    return float(np.interp(x, outline.points[:, 0], outline.points[:, 1]))
