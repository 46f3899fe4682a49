"""What the lens's screen shows: photos of the sheet, and what was learnt from them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.web.intake import newest
from scribe.web.job_folder import JobFolder
from scribe.web.view_cut import written

View = dict[str, Any]

FEWEST, WANTED = 3, 5  # photos, as `scribe camera` asks for them
_OF_THE_LENS = ("marks", "sharp")  # of a photo's notes: the print's scale has no say


def lens_view(job: View, folder: Path) -> View:
    """known: the file that outlines name, "" before there is one. others: jobs that know a lens."""
    known = newest(JobFolder(folder), "camera").get("camera", "")
    told = job["lens"] if job["lens"] and job["lens"].get("file") == known else {}
    drawn = (folder / known).with_suffix(".svg") if told else None
    photos = [_photo(photo) for photo in job["photos"] if photo["for"] == "camera"]
    good = sum(bool((photo["judged"] or {}).get("good")) for photo in photos)
    return {
        "photos": photos,
        "enough": good >= FEWEST,
        "wanted": max(0, WANTED - good),
        "known": known,
        "learnt_from": len(told.get("photos", [])),
        "left_out": told.get("left_out", {}),
        "advice": told.get("advice", []),
        "lines": [line for line in told.get("lines", []) if line not in told.get("advice", [])],
        "drawn": f"{job['href']}/lens.svg?{written(drawn)}" if drawn and drawn.is_file() else "",
        "others": _others(folder),
    }


def _photo(photo: View) -> View:
    judged = photo["judged"]
    if not judged:
        return photo
    notes = [n for n in judged["notes"] if not n["good"] or n["kind"] in _OF_THE_LENS]
    return photo | {"judged": judged | {"notes": notes}}


def _others(folder: Path) -> list[View]:
    found = []
    for path in sorted(folder.parent.glob("*/job.toml")):
        other = JobFolder(path.parent)
        if other.path == folder or not newest(other, "camera"):
            continue
        try:
            found.append({"id": other.id, "name": str(other.table().get("name", other.id))})
        except ScribeError:  # a damaged job lends nothing
            continue
    return found
