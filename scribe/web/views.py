"""What each screen shows, from the job as `GET /api/jobs/ID` answers it and the job's folder.

Plain dicts go in and out; templates hold no logic beyond showing them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from scribe.places import read_at
from scribe.standards import PAPER_MM
from scribe.web.view_cut import cut_view
from scribe.web.view_lens import lens_view
from scribe.web.view_outline import outline_view
from scribe.web.view_parts import photographs, work_of
from scribe.web.view_photos import photos_view
from scribe.web.view_piece import piece_view

View = dict[str, Any]
Query = Mapping[str, str]

BAR_MM = 150


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
        if state["fresh"] or not photographs(toml["outline"][name], state)
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


def _piece(job: View, query: Query, _: Path) -> View:
    return piece_view(job, query)


def _lens(job: View, _: Query, folder: Path) -> View:
    return {
        **lens_view(job, folder),
        "looking": work_of(job, lambda work: work["do"] == "look")["work"],
        **work_of(job, lambda work: work["do"] == "camera"),
    }


def _cut(job: View, query: Query, folder: Path) -> View:
    return {
        **cut_view(job, query, folder),
        **work_of(job, lambda work: work["do"] == "make"),
        "checking": work_of(job, lambda work: work["do"] == "check"),
    }


_VIEWS: dict[str, Callable[[View, Query, Path], View]] = {
    "print": _print,
    "photos": photos_view,
    "outline": outline_view,
    "piece": _piece,
    "cut": _cut,
    "lens": _lens,
}
