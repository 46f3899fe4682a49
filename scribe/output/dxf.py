"""A drawing as DXF for a machine: millimetres, one layer for each layer of the drawing.

Two more layers are what a router or laser follows: `piece`, the finished piece's border, and
`openings`, those inside it, each one closed polyline. What only helps people to read the drawing
lies on layers that aren't plotted.
"""

from __future__ import annotations

from io import StringIO

from scribe.output.drawing import LAYERS, Drawing
from scribe.piece import Piece

_ALIGN = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}
_TO_FOLLOW = ("piece", "openings")
_TO_READ = ("waste", "room", "datum")
_COLOURS = {"piece": 1, "openings": 5, "cut": 6, "blank": 8, "stations": 3, "labels": 3}


def dxf_bytes(drawing: Drawing, piece: Piece) -> bytes:
    """The DXF file (R2010) of a piece drawn from its face; the same bytes for the same drawing.

    Cut, blank and check lines are whole polylines; a bridged stretch of the cut lies on the
    layer `cut` with the line type DASHED.
    """
    import ezdxf  # its functions are declared without being exported
    from ezdxf import units
    from ezdxf.enums import TextEntityAlignment

    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]  # no date, no random identity in the file
    document = ezdxf.new("R2010", setup=["linetypes"], units=units.MM)  # type: ignore[attr-defined]
    space = document.modelspace()
    for name in (*_TO_FOLLOW, *LAYERS):
        layer_of = document.layers.add(name, color=_COLOURS.get(name, 7))
        layer_of.dxf.plot = int(name not in _TO_READ)
    space.add_lwpolyline(piece.keep.outer.tolist(), close=True, dxfattribs={"layer": "piece"})
    for ring in piece.keep.holes:
        space.add_lwpolyline(ring.tolist(), close=True, dxfattribs={"layer": "openings"})
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
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")
