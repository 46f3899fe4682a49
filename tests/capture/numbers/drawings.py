"""Drawings written to a file, and read as an outline."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np

from scribe.capture.numbers.drawing import read_drawing
from scribe.outline import Outline


def read(path: Path, choose: str | None = None, building="above", unit=None) -> Outline:
    return read_drawing(path, building, choose=choose, u95=0.1, unit_mm=unit)


def dxf(folder: Path, draw: Callable, units: int = 4) -> Path:
    document = ezdxf.new(units=units)
    draw(document, document.modelspace())
    document.saveas(folder / "wall.dxf")
    return folder / "wall.dxf"


def svg(folder: Path, inside: str, root: str = 'width="200mm" height="100mm"') -> Path:
    path = folder / "wall.svg"
    box = "" if "viewBox" in root else 'viewBox="0 0 200 100"'
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {root} {box}>{inside}</svg>', "utf-8")
    return path


LINE = '<path id="w" d="M 10 20 L 110 22"/>'


def size(outline: Outline) -> float:
    return float(np.hypot(*np.diff(outline.points, axis=0).T).sum())
