"""What the cut's screen shows: the tables of what comes off, ticks, files, and the check.

The numbers are read from the removal table that was written, and rounded once more for the
eye as the template's own cover has them: what comes off down to a tenth, U up.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

from scribe.quantity import format_mm, round_down_mm, round_up_mm
from scribe.web.view_piece import piece_number

View = dict[str, Any]

FILLER_MM = 1.0  # what a check takes where nobody says more
_STEP_MM = 0.1  # people plane to a tenth
# Beginnings of what a check says that the bench needs; the rest is there to be looked up.
_TELLING = (
    "proud",
    "short",
    "pushed home",
    "a shift",
    "a turn",
    "no shift",
    "template",
    "no template",
    "U holds",
)
_MAP, _REPORT = "deviation.svg", "check.html"  # of a check
_FILES = ((".pdf", "PDF to print"), ("-mirrored.pdf", "PDF, seen from the back"),
          ("-marks.pdf", "PDF, to mark without a template"),
          (".svg", "SVG"), (".dxf", "DXF"), ("-remove.csv", "Table"))  # fmt: skip


def cut_view(job: View, query: Mapping[str, str], folder: Path) -> View:
    """pieces, number, and what was made of the piece that is asked for."""
    pieces = job["toml"].get("piece", [])
    number = piece_number(query, len(pieces))
    named = [(k, each.get("name", f"piece {k + 1}")) for k, each in enumerate(pieces)]
    view: View = {"pieces": named, "number": number, "made": None, "fresh": False, "dxf": False}
    if not pieces:
        return view
    name, made = named[number][1], job["made"]
    view |= {
        "piece": name,
        "thickness": pieces[number].get("blank", {}).get("thickness"),
        "filler_hint": _filler_hint(job["toml"].get("filler")),
    }
    shown = next((each for each in made["pieces"] if each["name"] == name), None) if made else None
    if made is None or shown is None:
        return view
    root = f"{job['href']}/made"
    return view | {
        "made": shown,
        "fresh": made["fresh"],
        "dxf": any(file.endswith(".dxf") for file in shown["files"]),
        "report": made["report"],
        "files": _files(name, shown["files"], root),
        "face_words": "The template shows the face; the mirrored one shows the back. Lay it on the"
        " side it is for.",
        "edges": _edges(job, shown, folder),
        "notes": shown.get("notes", []),
        "checked": _checked(job, name, folder / "checked"),
    }


def _filler_hint(filler: Any) -> str:
    if filler is None:
        return f"empty: {FILLER_MM:g} mm"
    return f"empty: {filler}{' mm' if isinstance(filler, int | float) else ''}, as the job has it"


def _files(name: str, files: list[str], root: str) -> list[View]:
    return [
        {
            "words": words,
            "href": f"{root}/{quote(name + ending)}" + ("" if "pdf" in ending else "?download"),
            "download": "pdf" not in ending,
        }
        for ending, words in _FILES
        if name + ending in files
    ]


def _edges(job: View, made: View, folder: Path) -> list[View]:
    rows = _rows(folder / "made" / f"{made['name']}-remove.csv")
    ticks = job["ticks"].get(made["name"], {})
    shown = []
    for edge in made["edges"]:
        done = {round(float(station), 2) for station in ticks.get(edge["edge"], [])}
        table = [_row(row, done) for row in rows if row["edge"] == edge["edge"]]
        shown.append(
            {
                "edge": edge["edge"],
                "title": f"{edge['edge'].capitalize()} edge, to the {edge['outline']}",
                "end": edge["stations_from"],
                "bridged": edge["bridged"],
                "rows": table,
                "done": sum(row["done"] for row in table),
                "felt": _to_feel(table),
            }
        )
    return shown


def _to_feel(rows: list[View]) -> list[View]:
    """The stations at which a gap can be felt: every one once, none where the cut is steep."""
    by_words = {row["station"]: row for row in rows if "steep" not in row["words"]}
    return list(by_words.values())


def _rows(path: Path) -> list[dict[str, str]]:
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))
    except OSError:
        return []


def _row(row: dict[str, str], done: set[float]) -> View:
    """One row as people read it; key: the station that a tick names."""
    key = float(row["station_mm"])
    measured = row["measured"] == "yes"
    kind = "" if row["kind"] == "step" else row["kind"]
    words = [kind] if kind else []
    words += ["steep: use the template"] if row.get("steep") == "yes" else []
    words += [] if measured else ["not measured"]
    u95 = round_up_mm(float(row["u95_mm"]), _STEP_MM)
    return {
        "key": f"{key:g}",
        "station": format_mm(key, 0),
        "remove": f"{round_down_mm(float(row['remove_mm']), _STEP_MM):.1f}",
        "U": f"{max(u95, _STEP_MM):.1f}",
        "left": _left(row),
        "kind": row["kind"],
        "words": ", ".join(words),
        "measured": measured,
        "done": round(key, 2) in done,
    }


def _left(row: dict[str, str]) -> str:
    """Width that is left, rounded up: whoever marks it from the other edge cuts nothing away."""
    if row.get("whole") == "no":
        return "-"
    return f"{round_up_mm(float(row['width_left_mm']), _STEP_MM):.1f}"


def _checked(job: View, piece: str, folder: Path) -> View | None:
    """What the last check of this piece said: its verdict first."""
    checked = job["checked"]
    if not checked or checked.get("piece", piece) != piece:
        return None
    said = list(checked.get("said", checked.get("lines", [])))
    verdict = checked.get("verdict", "checked")
    names, root = checked.get("files", []), f"{job['href']}/checked"
    overlays = [name for name in names if name.endswith(".png")]
    drawn = [name for name in names if name == _MAP]
    shown = {*overlays, *drawn}
    return {
        "kind": "good" if verdict.startswith("it fits") else "warn",
        "files": [_check_file(name, root) for name in names if name not in shown],
        "map": f"{root}/{_MAP}?{written(folder / _MAP)}" if drawn else "",
        "verdict": verdict[:1].upper() + verdict[1:] + ".",
        "lines": [line for line in said if line != verdict and line.startswith(_TELLING)],
        "more": [line for line in said if line != verdict and not line.startswith(_TELLING)],
        "overlay": (
            f"{root}/{quote(overlays[0])}?{written(folder / overlays[0])}" if overlays else ""
        ),
    }


def written(path: Path) -> str:
    """When a picture was written: with that in its address none is shown that was there before."""
    try:
        return f"{path.stat().st_mtime_ns:x}"
    except OSError:
        return "0"


def _check_file(name: str, root: str) -> View:
    """A file of the check, by what it is; the longer ending is the more telling one."""
    if name == _REPORT:
        return {"words": "The whole finding", "href": f"{root}/{name}", "pdf": True}
    endings = sorted(_FILES, key=lambda each: -len(each[0]))
    kind = next((words for ending, words in endings if name.endswith(ending)), "")
    words = f"Second cut: {kind}" if kind else "Every station: table"
    pdf = name.endswith(".pdf")
    return {
        "words": words,
        "href": f"{root}/{quote(name)}" + ("" if pdf else "?download"),
        "pdf": pdf,
    }
