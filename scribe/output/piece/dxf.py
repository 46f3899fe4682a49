"""A drawing as DXF for a machine: millimetres, one layer for each layer of the drawing.

Four more layers are what a machine follows: `piece`, the finished piece's border, and `openings`,
those inside it, each one closed polyline; `drill`, round holes that lie whole in the piece, each a
circle with its true centre and diameter; `split`, lines along which the piece is parted. No hole is
on two of them. What only helps people to read the drawing lies on layers that aren't plotted.
"""

from __future__ import annotations

from io import StringIO
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.output.piece.drawing import LAYERS, Drawing
from scribe.piece import HoleCut, Piece

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

Array = npt.NDArray[np.float64]

_ALIGN = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}
_TO_FOLLOW = ("piece", "openings", "drill", "split")
_TO_READ = ("waste", "room", "datum")
_ROUND_MM = 0.01  # chords of a circle lie no further inside
_COLOURS = {
    "piece": 1,
    "openings": 5,
    "drill": 4,
    "split": 2,
    "cut": 6,
    "blank": 8,
    "stations": 3,
    "labels": 3,
}


def dxf_bytes(drawing: Drawing, piece: Piece) -> bytes:
    """The DXF file (R2010) of a piece drawn from its face; the same bytes for the same drawing.

    Cut, blank and check lines are whole polylines; a bridged stretch of the cut lies on the
    layer `cut` with the line type DASHED.
    """
    import ezdxf  # its functions are declared without being exported
    from ezdxf import units

    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]  # no date, no random identity in the file
    document = ezdxf.new("R2010", setup=["linetypes"], units=units.MM)  # type: ignore[attr-defined]
    space = document.modelspace()
    for name in (*_TO_FOLLOW, *LAYERS):
        layer_of = document.layers.add(name, color=_COLOURS.get(name, 7))
        layer_of.dxf.plot = int(name not in _TO_READ)
    _follow(space, piece)
    _draw(space, drawing)
    # Left to itself, ezdxf declares the types in use in the order of a set.
    for used in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(used)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


def _follow(space: Modelspace, piece: Piece) -> None:
    """What a machine follows."""
    space.add_lwpolyline(piece.keep.outer.tolist(), close=True, dxfattribs={"layer": "piece"})
    drilled = [hole for hole in piece.holes if is_drilled(hole)]
    for hole in drilled:
        space.add_circle(hole.centre.tolist(), hole.size[0] / 2.0, dxfattribs={"layer": "drill"})
    for ring in piece.keep.holes:
        if not any(_is_round(ring, hole) for hole in drilled):
            space.add_lwpolyline(ring.tolist(), close=True, dxfattribs={"layer": "openings"})
    for line in piece.splits:
        start, stop = line.tolist()
        space.add_line(start, stop, dxfattribs={"layer": "split"})


def _draw(space: Modelspace, drawing: Drawing) -> None:
    """The drawing itself, layer by layer."""
    from ezdxf.enums import TextEntityAlignment

    for layer in drawing.layers:
        for path in layer.paths:
            look = {"layer": layer.id}
            if path.kind == "bridged":
                look["linetype"] = "DASHED"
            space.add_lwpolyline(path.points.tolist(), close=path.closed, dxfattribs=look)
        for text in layer.texts:
            words = space.add_text(
                text.words,
                height=text.size,
                rotation=text.angle_deg,
                dxfattribs={"layer": layer.id},
            )
            words.set_placement(text.at, align=TextEntityAlignment[_ALIGN[text.anchor]])


def is_drilled(hole: HoleCut) -> bool:
    """Whether it is bored and nothing else: round, and open to no edge."""
    return hole.bore is not None and any(_is_round(line, hole) for line in hole.lines)


def _is_round(line: Array, hole: HoleCut) -> bool:
    """Whether a line runs all the way round a hole at its radius."""
    away = line - hole.centre
    off = np.abs(np.hypot(*away.T) - hole.size[0] / 2.0)
    turned = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
    whole = np.ptp(turned) > 2.0 * np.pi * (1.0 - 2.0 / len(line))
    return bool(off.max() < _ROUND_MM and whole)
