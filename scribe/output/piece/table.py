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
    """Every row of every cut; remove rounded down, width left and U (k = 2) up, to a hundredth.

    Where the cut is steep, U is that across the cut: a station decides nothing there. Where the
    width isn't whole, a cut beside this one takes part of it. Where the line turns back, more than
    what is told comes off at a second place of the station.
    """
    lines = [",".join(COLUMNS)]
    for cut in piece.cuts:
        table = cut.removal
        for row in range(len(table.kind)):
            remove = round_down_mm(max(float(table.remove[row]), 0.0), 0.01)
            u95 = round_up_mm(2.0 * float(table.u[row]), 0.01)
            measured = _said(table.measured[row])
            lines.append(
                f"{float(table.station[row]):.2f},{remove:.2f},{u95:.2f},"
                f"{_left(table, row, 0.01):.2f},{cut.edge},{_quoted(cut.name)},"
                f"{_kind(table, row)},"
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
            "" if kind == "step" else _kind(table, row),
            TURNS_BACK if _turns_back(cut, row) else STEEP if table.steep[row] else "",
            "" if table.measured[row] else "not measured",
        ]
        rows.append(
            (
                station_text(table, row),
                remove_text(float(table.remove[row])),
                f"{max(u95, 0.1):.1f}",
                f"{_left(table, row, STEP_MM):.1f}" if table.whole[row] else "-",
                ", ".join(word for word in said if word),
            )
        )
    return rows


def station_text(table: Removal, row: int) -> str:
    """A row's station as people read it: whole mm, but a tenth at ends and corners, where half a
    millimetre beside it another amount comes off.
    """
    return format_mm(float(table.station[row]), 1 if table.kind[row] in ("end", "corner") else 0)


def other_side(table: Removal, row: int) -> int | None:
    """The row past the corner, of the row before it; none for any other row.

    A corner has two rows, in the order of stations.
    """
    corners = [k for k, kind in enumerate(table.kind) if kind == "corner"]
    before = dict(zip(corners[::2], corners[1::2], strict=True))
    return before.get(row)


def remove_text(remove: float) -> str:
    """What comes off, mm, rounded down to what a plane takes; never negative."""
    return f"{round_down_mm(max(remove, 0.0), STEP_MM):.1f}"


def _turns_back(cut: CutEdge, row: int) -> bool:
    station = float(cut.removal.station[row])
    return any(low <= station <= high for low, high in cut.turns_back)


def _left(table: Removal, row: int, step: float) -> float:
    """mm of width left, rounded up: who marks it from the other edge doesn't cut into the piece."""
    return round_up_mm(float(table.width_left[row]), step)


def _kind(table: Removal, row: int) -> str:
    """Why the row is there; of a corner's two, which side of it stands there."""
    kind = table.kind[row]
    if kind != "corner":
        return kind
    return "past the corner" if other_side(table, row) is None else "before the corner"


def _said(yes: object) -> str:
    return "yes" if yes else "no"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"' if any(c in name for c in ',"\n') else name
