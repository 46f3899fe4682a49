"""The removal table, for a spreadsheet and for people. Rounded so that nothing is cut too deep."""

from __future__ import annotations

from scribe.piece import CutEdge, Piece, Removal
from scribe.quantity import format_mm, round_down_mm, round_up_mm

COLUMNS = (
    "station_mm", "remove_mm", "u95_mm", "width_left_mm", "edge", "outline", "kind", "measured",
    "steep", "whole", "turns_back",
)  # fmt: skip
STEEP, TURNS_BACK = "steep: use the template", "turns back"
HEADINGS = ("station", "remove", "+/- U", "width left", "")
STEP_MM = 0.1  # people plane to a tenth


def removal_csv(piece: Piece) -> str:
    """Every row of every cut; remove rounded down and U (k = 2) up, to a hundredth of a mm.

    Where the cut is steep, U is that across the cut: a station decides nothing there. Where the
    width isn't whole, a cut beside this one takes part of it. Where the line turns back, more than
    what is told comes off at a second place of the station.
    """
    lines = [",".join(COLUMNS)]
    for cut in piece.cuts:
        table = cut.removal
        for row, kind in enumerate(table.kind):
            remove = round_down_mm(max(float(table.remove[row]), 0.0), 0.01)
            u95 = round_up_mm(2.0 * float(table.u[row]), 0.01)
            measured = _said(table.measured[row])
            lines.append(
                f"{float(table.station[row]):.2f},{remove:.2f},{u95:.2f},"
                f"{float(table.width_left[row]):.2f},{cut.edge},{_quoted(cut.name)},{kind},"
                f"{measured},{_said(table.steep[row])},{_said(table.whole[row])},"
                f"{_said(_turns_back(cut, row))}"
            )
    return "\n".join(lines) + "\n"


def removal_rows(cut: CutEdge) -> list[tuple[str, ...]]:
    """The rows of one cut as people read them, in the order of HEADINGS."""
    table = cut.removal
    rows: list[tuple[str, ...]] = []
    for row, kind in enumerate(table.kind):
        u95 = round_up_mm(2.0 * float(table.u[row]), STEP_MM)
        said = [
            "" if kind == "step" else kind,
            TURNS_BACK if _turns_back(cut, row) else STEEP if table.steep[row] else "",
            "" if table.measured[row] else "not measured",
        ]
        rows.append(
            (
                station_text(table, row),
                remove_text(float(table.remove[row])),
                f"{max(u95, 0.1):.1f}",
                f"{float(table.width_left[row]):.1f}" if table.whole[row] else "-",
                ", ".join(word for word in said if word),
            )
        )
    return rows


def station_text(table: Removal, row: int) -> str:
    """A row's station as people read it: whole mm, but a tenth at ends and corners, where half a
    millimetre beside it another amount comes off.
    """
    return format_mm(float(table.station[row]), 1 if table.kind[row] in ("end", "corner") else 0)


def remove_text(remove: float) -> str:
    """What comes off, mm, rounded down to what a plane takes; never negative."""
    return f"{round_down_mm(max(remove, 0.0), STEP_MM):.1f}"


def _turns_back(cut: CutEdge, row: int) -> bool:
    station = float(cut.removal.station[row])
    return any(low <= station <= high for low, high in cut.turns_back)


def _said(yes: object) -> str:
    return "yes" if yes else "no"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"' if any(c in name for c in ',"\n') else name
