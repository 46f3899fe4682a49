"""The report of a checked cut: one HTML page that opens without a network."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence

from scribe.cut_check import CutCheck
from scribe.output.cautions import CAUTIONS
from scribe.output.check.check_words import check_lines, verdict
from scribe.output.check.deviation_map import deviation_map
from scribe.output.html import fill
from scribe.quantity import round_down_mm, round_up_mm

_ROWS = 40  # more are for the spreadsheet


def check_html(piece: str, check: CutCheck, overlays: Sequence[bytes]) -> str:
    """The page as text. overlays: PNGs of the photos with the traced edge."""
    said = verdict(check)
    return fill(
        "check.html",
        piece=piece,
        verdict=said[:1].upper() + said[1:],
        lines=[line[:1].upper() + line[1:] for line in check_lines(check) if line != said],
        drawing=deviation_map(check),
        straightness=check.straightness,
        where=f"Along the {check.cut.edge} edge, from its {check.cut.from_end} end",
        rows=_rows(check),
        overlays=["data:image/png;base64," + b64encode(each).decode("ascii") for each in overlays],
        cautions=CAUTIONS,
    )


def _rows(check: CutCheck) -> list[tuple[str, ...]]:
    """Every station, or evenly some of many: station, deviation, U, gap, what to take off."""
    found = check.found
    every = -(-len(found.station) // _ROWS)
    return [
        (
            f"{found.station[k]:.0f}",
            f"{found.deviation[k]:+.2f}",
            f"{round_up_mm(2.0 * float(found.u[k]), 0.01):.2f}",
            f"{found.gap[k]:.2f}",
            f"{round_down_mm(max(float(found.second[k]), 0.0), 0.1):.1f}",
        )
        for k in range(0, len(found.station), every)
    ]
