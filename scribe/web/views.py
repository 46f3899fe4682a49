"""What each screen shows, from the job as `GET /api/jobs/ID` answers it and the job's folder.

Plain dicts go in and out; templates hold no logic beyond showing them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

from scribe.places import read_at
from scribe.standards import PAPER_MM
from scribe.web.intake import newest
from scribe.web.job_folder import JobFolder, outline_folder
from scribe.web.sights import tapes_along
from scribe.web.take_in import strange
from scribe.web.view_cut import cut_view, written
from scribe.web.view_lens import lens_view
from scribe.web.view_piece import piece_view

View = dict[str, Any]
Query = Mapping[str, str]

BAR_MM = 150
_FIRST_OUTLINE = "wall"
_FIGURE = re.compile(r"(?P<name>outline|bow):? (?P<value>[\d.]+) \+/- (?P<U>[\d.]+) mm")
_NAMES = {"outline": "From end to end", "bow": "Bow"}
_HOW = {
    "gauge": "Push the gauge against the building, lay it into the window with the pins that"
    " touched towards the sheet's upper edge.",
    "line": "Lay the card or board with the scribed line into the window.",
    "edge": "Lay the piece into the window with the edge that was cut to fit towards the sheet's"
    " upper edge.",
}
_HOW_ALT = {
    "gauge": "A profile gauge lies in the sheet's window, its pins towards the arrow",
    "line": "A card with a pencil line lies in the sheet's window",
    "edge": "A piece lies in the sheet's window, its cut edge towards the arrow",
}
_OF = ("gauge", "line", "edge")
_NO_WORK: View = {"work": [], "refused": [], "ended": ""}


def view_of(place: str, job: View, query: Query, folder: Path) -> View:
    """The view of one screen of a job."""
    view = _VIEWS[place](job, query, folder)
    refused = [
        {name: read_at(words, place.capitalize()) for name, words in error.items()}
        for error in view.get("refused", ())
    ]
    return view | {"refused": refused}


def done_places(job: View) -> frozenset[str]:
    """The places of the path that have nothing left to do."""
    toml, outlines = job["toml"], job["outlines"]
    made, pieces = job["made"], toml.get("piece", [])
    traced = {
        name
        for name, state in outlines.items()
        if state["fresh"] or not _photographs(toml["outline"][name], state)
    }
    followed = [edge.get("outline") for piece in pieces for edge in piece.get("edge", [])]
    taken = [photo for photo in job["photos"] if photo["for"] == "outline"]
    done = {
        "print": any("printer" in each for each in toml.get("outline", {}).values()),
        "photos": bool(taken) and all((photo["judged"] or {}).get("good") for photo in taken),
        "outline": bool(outlines) and len(traced) == len(outlines),
        "piece": bool(pieces) and all(name in traced for name in followed),
        "cut": bool(made and made["fresh"]),
    }
    return frozenset(name for name, each in done.items() if each)


def _print(job: View, _: Query, folder: Path) -> View:
    bars = _bars(job, folder)
    said = ""
    if bars:
        parts = [f"{100 * (float(bars[axis]) / BAR_MM - 1):+.2f} % {words}"
                 for axis, words in (("x", "along the foot"), ("y", "up the side"))]  # fmt: skip
        said = f"The print is off: {' and '.join(parts)}. That is taken out of every number."
    paper = job["toml"].get("print", {}).get("paper", "A4")
    return {
        "papers": sorted(PAPER_MM),
        "paper": paper if paper in PAPER_MM else "A4",
        "bar": BAR_MM,
        "bars": bars,
        "bars_said": said,
    }


def _bars(job: View, folder: Path) -> dict[str, str] | None:
    """What the check bars read, from the printer's file that an outline names."""
    import tomllib

    names = [each["printer"] for each in job["toml"].get("outline", {}).values()
             if isinstance(each.get("printer"), str)]  # fmt: skip
    names += sorted((path.name for path in folder.glob("printer-*.toml")), key=len)[-1:]
    for name in names[-1:]:
        try:
            table = tomllib.loads((folder / Path(name).name).read_text("utf-8"))
            return {"x": f"{table['x_bar']:g}", "y": f"{table['y_bar']:g}"}
        except (OSError, KeyError, TypeError, ValueError):
            return None
    return None


def _photos(job: View, query: Query, folder: Path) -> View:
    outlines = _photographed(job)
    asked = query.get("outline", "")
    new = not outlines or asked == "new"
    name = query.get("name", "" if outlines else _FIRST_OUTLINE) if new else _one(asked, outlines)
    table = {} if new else job["toml"]["outline"][name]
    of = table.get("of") or query.get("of", "gauge")
    of = of if of in _OF else "gauge"
    taken = [] if new else _taken(job, name)
    return {
        "new": new,
        "outline": name,
        "outlines": [(each, each) for each in outlines],
        "of": of,
        "height": table.get("height"),
        "block": table.get("block"),
        "washer": table.get("washer"),
        "card": "card" in _list(table.get("scale_by")),
        "photos": taken,
        "strange": _strange(job),
        "run": any((photo["judged"] or {}).get("strips") for photo in taken),
        "tapes": _tapes(job["toml"], name),
        "next_tape": len(_list(job["toml"].get("tape"))),
        "lens": bool(newest(JobFolder(folder), "camera")),
        "how": _HOW[of],
        "how_alt": _HOW_ALT[of],
        **_work(job, lambda work: work["do"] == "look"),
        "refused": [],
    }


def _strange(job: View) -> list[str]:
    return strange(job["toml"], {photo["name"] for photo in job["photos"]})


def _taken(job: View, outline: str) -> list[View]:
    """The photos of an outline; two outlines may be traced in the same ones."""
    named = {f"{each}" for each in _list(job["toml"]["outline"][outline].get("photo"))}
    return [
        photo
        for photo in job["photos"]
        if photo.get("outline") == outline or f"photos/{photo['name']}" in named
    ]


def _tapes(toml: View, outline: str) -> dict[int, str]:
    """Distances between crosses of an outline's strips, as they were typed, by their number."""
    return {
        number: " ".join([f"{each.get('from', '?')} to {each.get('to', '?')}:",
                          f"{each.get('length', '?')} mm"
                          + (f" +/- {each['U']}" if "U" in each else "")])
        for number, each in tapes_along(toml, outline).items()
    }  # fmt: skip


def _outline(job: View, query: Query, folder: Path) -> View:
    outlines = list(job["toml"].get("outline", {}))
    if not outlines:
        return {"outline": "", "outlines": [], **_NO_WORK}
    name = _one(query.get("outline", ""), outlines)
    state = job["outlines"].get(name, {})
    lines = state.get("lines", [])
    return {
        "outline": name,
        "outlines": [(each, each) for each in outlines],
        "photos": _taken(job, name),
        "strange": name in _strange(job),
        "traced": state.get("traced", False),
        "fresh": state.get("fresh", False),
        "corrected": state.get("corrected", False),
        "figures": figures(lines),
        "lines": lines,
        "steps": state.get("steps", []),
        "table": state.get("table", []),
        "overlays": _overlays(job, name, folder),
        "from_file": not _photographs(job["toml"]["outline"][name], state),
        "advice": state.get("advice", []),
        **_work(job, lambda work: work["do"] in ("trace", "look") and work["of"] == name),
    }


def _overlays(job: View, outline: str, folder: Path) -> list[str]:
    """The photos with the line and its U drawn over them."""
    found = sorted((folder / "outlines" / outline_folder(outline)).glob("overlay*.png"),
                   key=lambda path: (len(path.name), path.name))  # fmt: skip
    root = f"{job['href']}/outlines/{quote(outline)}/overlay"
    return [f"{root}?n={n}&at={written(path)}" for n, path in enumerate(found)]


def figures(lines: list[str]) -> list[dict[str, str]]:
    """The numbers of a result that people look for first, each with its U."""
    return [
        {"name": _NAMES[found["name"]], "value": found["value"], "U": found["U"]}
        for line in lines
        for found in _FIGURE.finditer(line)
    ]


def _work(job: View, mine: Callable[[View], bool]) -> View:
    """What runs for this screen, and what the last run of it refused."""
    ours = [work for work in job["work"] if mine(work)]
    last = ours[-1:] if ours and ours[-1]["state"] == "refused" else []
    return {
        "work": [work for work in ours if work["state"] in ("waiting", "running")],
        "refused": [work["error"] for work in last if work["error"]],
        "ended": ours[-1]["state"] if ours and ours[-1]["state"] in ("stopped", "lost") else "",
    }


def _photographs(table: View, state: View) -> bool:
    """Whether an outline is traced from photos, and not read from a file."""
    return "photo" in table or bool(state.get("traced"))


def _photographed(job: View) -> list[str]:
    return [name for name, each in job["toml"].get("outline", {}).items() if "photo" in each]


def _one(asked: str, names: list[str]) -> str:
    return asked if asked in names else names[0]


def _list(value: Any) -> list[str]:
    return value if isinstance(value, list) else [value] if value else []


def _piece(job: View, query: Query, _: Path) -> View:
    return piece_view(job, query)


def _lens(job: View, _: Query, folder: Path) -> View:
    return {
        **lens_view(job, folder),
        "looking": _work(job, lambda work: work["do"] == "look")["work"],
        **_work(job, lambda work: work["do"] == "camera"),
    }


def _cut(job: View, query: Query, folder: Path) -> View:
    return {
        **cut_view(job, query, folder),
        **_work(job, lambda work: work["do"] == "make"),
        "checking": _work(job, lambda work: work["do"] == "check"),
    }


_VIEWS: dict[str, Callable[[View, Query, Path], View]] = {
    "print": _print,
    "photos": _photos,
    "outline": _outline,
    "piece": _piece,
    "cut": _cut,
    "lens": _lens,
}
