"""Drawing: what a template shows, in mm of the piece frame, before paper or file format.

Layers in the order of drawing, each with the id that its SVG group and DXF layer carry. A
drawing knows no page: tiles, SVG and DXF take the same one. Line kinds follow ISO 128
practice (continuous thick: cut; dashed thick: cut where nobody measured; long-dashed
double-dotted thin: blank before cutting; continuous thin: hatching, ticks, room; long-dashed
dotted thin: datum), so that they read on a black-and-white printer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LineKind = Literal["cut", "bridged", "blank", "thin", "datum"]
Anchor = Literal["start", "middle", "end"]
LAYERS = ("waste", "room", "datum", "blank", "cut", "stations", "labels", "check")


@dataclass(frozen=True)
class Stroke:
    """How a line kind is drawn. width mm; dashes: mm on, off, on, off ...; () is continuous."""

    width: float
    dashes: tuple[float, ...] = ()


STROKES: dict[LineKind, Stroke] = {
    "cut": Stroke(0.5),
    "bridged": Stroke(0.5, (3.0, 2.0)),
    "blank": Stroke(0.25, (8.0, 1.5, 0.6, 1.5, 0.6, 1.5)),
    "thin": Stroke(0.18),
    "datum": Stroke(0.25, (8.0, 1.5, 0.6, 1.5)),
}


@dataclass(frozen=True)
class Path:
    """points: (N, 2) mm."""

    points: Array
    kind: LineKind = "thin"
    closed: bool = False


@dataclass(frozen=True)
class Text:
    """Words at a point, their baseline turned by angle_deg; size: mm of a capital's height."""

    at: tuple[float, float]
    words: str
    size: float
    anchor: Anchor = "middle"
    angle_deg: float = 0.0
    bold: bool = False


@dataclass(frozen=True)
class Layer:
    """One of LAYERS with what it shows."""

    id: str
    paths: tuple[Path, ...] = ()
    texts: tuple[Text, ...] = ()


@dataclass(frozen=True)
class CheckDistance:
    """Two marks on the template and their distance in mm, to be verified with a tape."""

    start: tuple[float, float]
    end: tuple[float, float]
    length: float


@dataclass(frozen=True)
class Drawing:
    """A template. mirrored: drawn as seen from the back, for cutting from there."""

    name: str
    layers: tuple[Layer, ...]
    check: CheckDistance
    mirrored: bool = False

    def layer(self, name: str) -> Layer:
        """The layer of that id, empty if the drawing has none."""
        return next((layer for layer in self.layers if layer.id == name), Layer(name))

    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 mm around all paths."""
        points = np.vstack([path.points for layer in self.layers for path in layer.paths])
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)
