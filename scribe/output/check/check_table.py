"""What a check found at every station, as a table for a spreadsheet."""

from __future__ import annotations

from scribe.cut_check import CutCheck
from scribe.quantity import round_down_mm


def check_csv(check: CutCheck) -> str:
    """station_mm, deviation_mm, u95_mm, gap_mm, remove_mm: remove rounded down."""
    rows = ["station_mm,deviation_mm,u95_mm,gap_mm,remove_mm"]
    found = check.found
    for row in zip(found.station, found.deviation, 2 * found.u, found.gap, found.second,
                   strict=True):  # fmt: skip
        station, deviation, u95, gap, remove = (float(each) for each in row)
        rows.append(
            f"{station:.1f},{deviation:.3f},{u95:.3f},{gap:.3f},"
            f"{round_down_mm(max(remove, 0.0), 0.01):.2f}"
        )
    return "\n".join(rows) + "\n"
