"""A drawing as DXF for a machine: millimetres, one layer for each layer of the drawing."""

from __future__ import annotations

from io import StringIO

from scribe.output.drawing import LAYERS, Drawing

_ALIGN = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}


def dxf_bytes(drawing: Drawing) -> bytes:
    """The DXF file (R2010); the same bytes for the same drawing.

    Cut, blank and check lines are whole polylines; a bridged stretch of the cut lies on the
    layer `cut` with the line type DASHED.
    """
    import ezdxf  # its functions are declared without being exported
    from ezdxf import units
    from ezdxf.enums import TextEntityAlignment

    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]  # no date, no random identity in the file
    document = ezdxf.new("R2010", setup=["linetypes"], units=units.MM)  # type: ignore[attr-defined]
    space = document.modelspace()
    for name in LAYERS:
        document.layers.add(name)
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
