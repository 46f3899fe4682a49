"""Passes, tight spots and marks of a cut, as sentences for the cover, the report and others."""

from __future__ import annotations

from collections.abc import Sequence

from scribe.output.piece.table import remove_text
from scribe.piece import CutEdge, Marks, Run, TightSpot
from scribe.quantity import format_mm
from scribe.tools import Tool

_LISTED = 6  # places; more are counted, and the template shows them


def pass_lines(cut: CutEdge) -> list[str]:
    """One sentence for each saw, then one for each run: "0-640: plane, 0.3-1.1 mm"."""
    if cut.passes is None:
        return []
    saws = dict.fromkeys(run.rough for run in cut.passes.runs if run.rough is not None)
    return [*map(_saw, saws), *map(_run, cut.passes.runs)]


def tight_lines(cut: CutEdge) -> list[str]:
    """One sentence for each tool in use that can't follow, with all the hollows where it can't."""
    alike: dict[tuple[Tool, str], list[TightSpot]] = {}
    for spot in cut.passes.tight if cut.passes is not None else ():
        alike.setdefault((spot.tool, spot.instead), []).append(spot)
    return [_tight(spots) for spots in alike.values()]


def marks_heading(marks: Marks) -> str:
    """What to do with a list of marks."""
    fewest = ", and no fewer would" if marks.proved else ""
    return (
        f"{len(marks.station)} marks, joined with a {marks.join}, stand for the line{fewest}: "
        f"at most {format_mm(marks.most_left, 1)} mm is left to plane."
    )


def mark_rows(marks: Marks) -> list[tuple[str, str]]:
    """Station and what to mark there, as people read them."""
    return [
        (format_mm(float(station), 1), remove_text(float(remove)))
        for station, remove in zip(marks.station, marks.remove, strict=True)
    ]


def _run(run: Run) -> str:
    where = _stretch(run)
    if run.finish is None:
        return f"{where}: nothing to take off"
    least, most = remove_text(run.least), remove_text(run.most)
    amount = f"{most} mm" if least == most else f"{least}-{most} mm"
    rough = f"{run.rough.name}, then " if run.rough is not None else ""
    return f"{where}: {rough}{run.finish}, {amount}"


def _saw(saw: Tool) -> str:
    kerf = f", its kerf of {format_mm(saw.kerf, 1)} mm in the waste" if saw.kerf else ""
    return f"Keep the {saw.name} {format_mm(saw.standoff, 1)} mm off the line{kerf}."


def _tight(spots: Sequence[TightSpot]) -> str:
    """spots: of one tool, with one thing to use instead."""
    tool, worst = spots[0].tool, max(spots, key=lambda spot: spot.left)
    radius, left = format_mm(tool.radius, 1), format_mm(worst.left, 1)
    most = f"{left} mm at {format_mm(worst.deepest, 0)}"
    most = most if len(spots) == 1 else f"up to {most}"
    if tool.guided:
        return (
            f"{_places(spots)}: guided by its bearing, the {tool.name} leaves a fillet of radius "
            f"{radius} mm, {most}. Take it out with {worst.instead}."
        )
    return (
        f"{_places(spots)}: too tight for the {tool.name} (radius {radius} mm): it would leave "
        f"{most}. Use {worst.instead}."
    )


def _places(spots: Sequence[TightSpot]) -> str:
    if len(spots) > _LISTED:
        first, last = format_mm(spots[0].start, 0), format_mm(spots[-1].stop, 0)
        return f"{len(spots)} places between {first} and {last}"
    return ", ".join(dict.fromkeys(map(_stretch, spots)))


def _stretch(of: Run | TightSpot) -> str:
    """From station to station, or the one station where they read alike."""
    first, last = format_mm(of.start, 0), format_mm(of.stop, 0)
    return first if first == last else f"{first}-{last}"
