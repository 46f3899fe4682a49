"""Outline to and from files: everything as JSON, the bare points as CSV.

JSON is our own format and keeps the whole outline, to the last bit. CSV has exactly the
columns `x_mm,y_mm,u95_mm` (u95 is U with k = 2) for spreadsheets and other programs; it
doesn't know on which side the building lies, so whoever reads it has to say.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.facing import BUILDING, Building, axis_facing, side_facing
from scribe.outline import Outline
from scribe.standards import COVERAGE_FACTOR

FORMAT = "scribe outline"
VERSION = 1
COLUMNS = ("x_mm", "y_mm", "u95_mm")


def outline_json(outline: Outline) -> str:
    """The whole outline as JSON text; `read_json` gives it back equal to the last bit."""
    content = {
        "format": FORMAT,
        "version": VERSION,
        "origin": outline.origin,
        "solid": outline.solid,
        "datum": {
            "origin_mm": outline.datum.origin.tolist(),
            "direction": outline.datum.direction.tolist(),
            "association": outline.datum.association,
            "end": outline.datum.end,
        },
        "points_mm": outline.points.tolist(),
        "u_mm": outline.u.tolist(),
        "measured": outline.measured.tolist(),
        "budget_mm": {name: part.tolist() for name, part in outline.budget.items()},
        "shared_mm": {name: modes.tolist() for name, modes in outline.shared.items()},
    }
    return json.dumps(content, allow_nan=False, ensure_ascii=False) + "\n"


def outline_csv(outline: Outline) -> str:
    """The points with U (k = 2) as CSV text, to a tenth of a micrometre."""
    rows = np.column_stack([outline.points, outline.U])
    lines = [f"{x:.4f},{y:.4f},{u95:.4f}" for x, y, u95 in rows]
    return "\n".join([",".join(COLUMNS), *lines]) + "\n"


def read_outline(
    path: Path, *, building: Building | None = None, u95: float | None = None
) -> Outline:
    """Read an outline from its JSON, or from CSV with the side of the building stated."""
    if path.suffix.lower() == ".json":
        return read_json(path)
    return read_csv(path, building=building, u95=u95)


def read_json(path: Path) -> Outline:
    """Read what `outline_json` wrote; refuses anything else, and files of a newer version."""
    text = _text(path)
    try:
        content = json.loads(text, parse_constant=_no_constant)
        if not isinstance(content, dict) or content.get("format") != FORMAT:
            raise _damaged(path, "is not an outline of scribe")
        if content["version"] != VERSION:
            raise ScribeError(
                "outline-file-version",
                what=f"has the format's version {content['version']}, this program reads {VERSION}",
                where=str(path),
                do="read it with the version of scribe that wrote it, or trace again",
            )
        return _outline(content)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise _damaged(path, f"is damaged ({_reason(error)})") from error


def read_csv(path: Path, *, building: Building | None, u95: float | None = None) -> Outline:
    """Read `x_mm,y_mm,u95_mm`; semicolons with decimal commas are read as well.

    building: where the building lies as the points are drawn (x right, y up). It is
        never guessed: without it the file is refused.
    u95: mm, U (k = 2) of every point, for a file without the column u95_mm.
    """
    if building is None:
        raise ScribeError(
            "outline-file-side",
            what="a CSV doesn't say on which side of the outline the building lies",
            where=str(path),
            do=f"state it: building = one of {', '.join(BUILDING)}",
        )
    header, rows = _rows(path)
    if "u95_mm" not in header and u95 is None:
        raise ScribeError(
            "outline-file-u95",
            what="there is no column u95_mm, so nobody knows how good these points are",
            where=str(path),
            do="add the column (U with k = 2, in mm), or state one value for all points: u95 = 0.5",
        )
    x, y = rows[:, header.index("x_mm")], rows[:, header.index("y_mm")]
    if "u95_mm" in header:
        expanded = rows[:, header.index("u95_mm")]
    else:
        assert u95 is not None
        expanded = np.full(len(rows), u95)
    points = np.column_stack([x, y])
    return Outline(
        points,
        expanded / COVERAGE_FACTOR,
        side_facing(points, building, str(path)),
        datum=axis_facing(building),
        origin=f"file {path.name}",
    )


def read_polyline(path: Path) -> npt.NDArray[np.float64]:
    """(N, 2) mm, the bare points of a CSV with x_mm and y_mm: a rough course, drawn by hand."""
    header, rows = _rows(path)
    return rows[:, [header.index("x_mm"), header.index("y_mm")]]


def _outline(content: dict[str, Any]) -> Outline:
    datum = content["datum"]
    return Outline(
        _numbers(content["points_mm"]),
        _numbers(content["u_mm"]),
        content["solid"],
        datum=Datum(
            _numbers(datum["origin_mm"]),
            _numbers(datum["direction"]),
            str(datum["association"]),
            str(datum["end"]),
        ),
        origin=str(content["origin"]),
        measured=np.array(content["measured"], dtype=bool),
        budget={str(name): _numbers(part) for name, part in content["budget_mm"].items()},
        shared={str(name): _numbers(part) for name, part in content.get("shared_mm", {}).items()},
    )


def _numbers(values: object) -> npt.NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _no_constant(name: str) -> float:
    raise ValueError(f"the value {name}")


def _reason(error: Exception) -> str:
    if isinstance(error, json.JSONDecodeError):
        return f"line {error.lineno}: {error.msg}"
    if isinstance(error, KeyError):
        return f"{error.args[0]} is missing"
    return str(error).splitlines()[0] if str(error) else type(error).__name__


def _rows(path: Path) -> tuple[list[str], npt.NDArray[np.float64]]:
    """Column names and (N, columns) numbers; damage is refused with its line."""
    lines = _text(path).splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise _damaged(path, "is empty")
    separator = ";" if ";" in lines[first] else ","
    header = [name.strip().strip('"').lower() for name in lines[first].split(separator)]
    for name in COLUMNS[:2]:
        if header.count(name) != 1:
            raise _damaged(path, f"has no column {name} (line {first + 1})")
    rows: list[list[float]] = []
    for number, line in enumerate(lines[first + 1 :], start=first + 2):
        if line.strip():
            rows.append(_row(path, number, next(csv.reader([line], delimiter=separator)), header))
    if len(rows) < 2:
        raise _damaged(path, "has fewer than two points")
    return header, np.array(rows)


def _row(path: Path, number: int, cells: list[str], header: list[str]) -> list[float]:
    if len(cells) != len(header):
        raise _damaged(path, f"has {len(cells)} values instead of {len(header)} in line {number}")
    values = []
    for name, cell in zip(header, cells, strict=True):
        try:
            value = float(cell.strip().replace(",", ".")) if name in COLUMNS else 0.0
        except ValueError:
            value = float("nan")
        if not np.isfinite(value) or (name == "u95_mm" and value < 0):
            raise _damaged(path, f"has {cell.strip()!r} for {name} in line {number}")
        values.append(value)
    return values


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise _damaged(path, "is not a text file") from error
    except OSError as error:
        raise ScribeError(
            "outline-file-unreadable",
            what=f"the outline can't be read ({error.strerror})",
            where=str(path),
            do="check the name and the folder",
        ) from error


def _damaged(path: Path, what: str) -> ScribeError:
    return ScribeError(
        "outline-file-damaged",
        what=f"the file {what}",
        where=str(path),
        do="trace the outline again, or mend the file",
    )
