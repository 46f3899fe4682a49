"""Passes, tight spots and marks of a cut, as sentences for the cover, the report and others."""

from __future__ import annotations

from scribe.output.table import remove_text
from scribe.piece import CutEdge, Marks, Run, TightSpot
from scribe.quantity import format_mm
from scribe.tools import Tool


def pass_lines(cut: CutEdge) -> list[str]:
    """One sentence for each saw, then one for each run: "0-640: plane, 0.3-1.1 mm"."""
    if cut.passes is None:
        return []
    saws = dict.fromkeys(run.rough for run in cut.passes.runs if run.rough is not None)
    return [*map(_saw, saws), *map(_run, cut.passes.runs)]


def tight_lines(cut: CutEdge) -> list[str]:
    """One sentence for each hollow that the tool in use can't follow."""
    return [] if cut.passes is None else [_tight(spot) for spot in cut.passes.tight]


def marks_heading(marks: Marks) -> str:
    """What to do with a list of marks."""
    return (
        f"{len(marks.station)} marks, joined with a {marks.join}, stand for the line: "
        f"at most {format_mm(marks.most_left, 1)} mm is left to plane."
    )


def mark_rows(marks: Marks) -> list[tuple[str, str]]:
    """Station and what to mark there, as people read them."""
    return [
        (format_mm(float(station), 1), remove_text(float(remove)))
        for station, remove in zip(marks.station, marks.remove, strict=True)
    ]


def _run(run: Run) -> str:
    where = f"{format_mm(run.start, 0)}-{format_mm(run.stop, 0)}"
    if run.finish is None:
        return f"{where}: nothing to take off"
    least, most = remove_text(run.least), remove_text(run.most)
    amount = f"{most} mm" if least == most else f"{least}-{most} mm"
    rough = f"{run.rough.name}, then " if run.rough is not None else ""
    return f"{where}: {rough}{run.finish}, {amount}"


def _saw(saw: Tool) -> str:
    kerf = f", its kerf of {format_mm(saw.kerf, 1)} mm in the waste" if saw.kerf else ""
    return f"Keep the {saw.name} {format_mm(saw.standoff, 1)} mm off the line{kerf}."


def _tight(spot: TightSpot) -> str:
    where = f"{format_mm(spot.start, 0)}-{format_mm(spot.stop, 0)}"
    radius = format_mm(spot.tool.radius, 1)
    if spot.tool.guided:
        return (
            f"{where}: guided by its bearing, the {spot.tool.name} leaves a fillet of radius "
            f"{radius} mm, {format_mm(spot.left, 1)} mm at most, at "
            f"{format_mm(spot.deepest, 0)}. Take it out with {spot.instead}."
        )
    return (
        f"{where}: too tight for the {spot.tool.name} (radius {radius} mm): "
        f"it would leave {format_mm(spot.left, 1)} mm at {format_mm(spot.deepest, 0)}. "
        f"Use {spot.instead}."
    )
