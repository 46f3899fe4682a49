"""Drawing: what a template shows, in mm of the piece frame, before paper or file format.

Layers in the order of drawing, each with the id that its SVG group and DXF layer carry. A
drawing knows no page: sheets, SVG and DXF take the same one. Line kinds follow ISO 128
practice (continuous thick: cut; dashed thick: cut where nobody measured; long-dashed
double-dotted thin: blank before cutting; continuous thin: hatching, ticks, room; long-dashed
dotted thin: datum), so that they read on a black-and-white printer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, radians, sin
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]  # x0, y0, x1, y1 mm

LineKind = Literal["cut", "bridged", "blank", "thin", "datum"]
Anchor = Literal["start", "middle", "end"]
LAYERS = ("waste", "room", "datum", "blank", "cut", "stations", "labels", "check")


# Average widths of Helvetica's letters over a capital's height, on the generous side.
_CAPITAL, _OTHER, _BOLDER = 0.98, 0.75, 1.06
_DESCENT = 0.3  # of a capital's height, below the baseline


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

    @property
    def marks(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both marks."""
        return self.start, self.end


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

    def with_layers(self, *changed: Layer) -> Drawing:
        """The same drawing with these layers in place of its own of the same ids."""
        new = {layer.id: layer for layer in changed}
        return replace(self, layers=tuple(new.get(layer.id, layer) for layer in self.layers))

    def box(self) -> Box:
        """Around all paths; words may reach beyond."""
        points = np.vstack([path.points for layer in self.layers for path in layer.paths])
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def full_box(self) -> Box:
        """Around paths and words."""
        boxes = [self.box(), *(text_box(text) for each in self.layers for text in each.texts)]
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        return min(x0), min(y0), max(x1), max(y1)


@dataclass(frozen=True)
class Picture:
    """size: (width, height) mm. What is in it, in the order of drawing."""

    size: tuple[float, float]
    paths: tuple[Path, ...]
    texts: tuple[Text, ...]


def text_size(text: Text) -> tuple[float, float]:
    """(width, height) mm that the words take before they are turned."""
    letters = sum(_CAPITAL if letter.isupper() else _OTHER for letter in text.words)
    return letters * text.size * (_BOLDER if text.bold else 1.0), text.size * (1.0 + _DESCENT)


def text_corners(text: Text) -> Array:
    """(4, 2) corners of the words as they are turned, counter-clockwise from their lower left."""
    return np.array(_corners(text))


def _corners(text: Text) -> list[tuple[float, float]]:
    width, height = text_size(text)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    turn, low = radians(text.angle_deg), -_DESCENT * text.size
    right, high = left + width, low + height
    return [
        (text.at[0] + x * cos(turn) - y * sin(turn), text.at[1] + x * sin(turn) + y * cos(turn))
        for x, y in ((left, low), (right, low), (right, high), (left, high))
    ]


def text_box(text: Text) -> Box:
    """The box around the words as they are turned."""
    x, y = zip(*_corners(text), strict=True)
    return min(x), min(y), max(x), max(y)


def centred(text: Text, centre: Array) -> Text:
    """The words moved so that the middle of their box lies at centre (2,)."""
    x0, y0, x1, y1 = text_box(text)
    x, y = text.at[0] + centre[0] - (x0 + x1) / 2, text.at[1] + centre[1] - (y0 + y1) / 2
    return replace(text, at=(float(x), float(y)))
