"""What the photos' screen shows: each photo with its judgement, and tapes along strips."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from scribe.web.intake import newest
from scribe.web.job_folder import JobFolder
from scribe.web.sights import tapes_along
from scribe.web.take_in import strange
from scribe.web.view_parts import listed, one_of, photographed, work_of

View = dict[str, Any]
Query = Mapping[str, str]

_FIRST_OUTLINE = "wall"

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


def photos_view(job: View, query: Query, folder: Path) -> View:
    """The photos of one outline, or what a new one is asked."""
    outlines = photographed(job)
    asked = query.get("outline", "")
    new = not outlines or asked == "new"
    name = query.get("name", "" if outlines else _FIRST_OUTLINE) if new else one_of(asked, outlines)
    table = {} if new else job["toml"]["outline"][name]
    of = table.get("of") or query.get("of", "gauge")
    of = of if of in _OF else "gauge"
    taken = [] if new else taken_of(job, name)
    return {
        "new": new,
        "outline": name,
        "outlines": [(each, each) for each in outlines],
        "of": of,
        "height": table.get("height"),
        "block": table.get("block"),
        "washer": table.get("washer"),
        "card": "card" in listed(table.get("scale_by")),
        "photos": taken,
        "strange": strange_outlines(job),
        "run": any((photo["judged"] or {}).get("strips") for photo in taken),
        "tapes": _tapes(job["toml"], name),
        "next_tape": len(listed(job["toml"].get("tape"))),
        "lens": bool(newest(JobFolder(folder), "camera")),
        "how": _HOW[of],
        "how_alt": _HOW_ALT[of],
        **work_of(job, lambda work: work["do"] == "look"),
        "refused": [],
    }


def strange_outlines(job: View) -> list[str]:
    """Outlines with photos that the page has no copy of."""
    return strange(job["toml"], {photo["name"] for photo in job["photos"]})


def taken_of(job: View, outline: str) -> list[View]:
    """The photos of an outline; two outlines may be traced in the same ones."""
    named = {f"{each}" for each in listed(job["toml"]["outline"][outline].get("photo"))}
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
