"""A photo that came in: its pictures, and what is said of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.places import PAGE, told
from scribe.source import PhotoSource, Source

Progress = Callable[[str], None]

SMALL_PX, SHOWN_PX = 480, 2048
_STRIPS = {"kind": "marks", "good": True, "said": "the marks of strips are found", "do": ""}


def pictures(photo: Path) -> tuple[tuple[int, int], bytes, bytes]:
    """The photo's upright size in px, and its JPEGs to show and to list."""
    from scribe.capture.picture import upright_jpegs

    size, (shown, small) = upright_jpegs(photo, (SHOWN_PX, SMALL_PX))
    return size, shown, small


def sheet_alone(photo: Path) -> PhotoSource:
    """A photo of which only the sheet is wanted so far."""
    return PhotoSource((photo,), "edge")


def judged(photo: Path, source: Source, progress: Progress) -> dict[str, Any]:
    """What can be said of a photo: marks, sharpness, print scale, or what to do about it."""
    from scribe.recipes.look import look
    from scribe.recipes.run import shows_strips

    assert isinstance(source, PhotoSource)
    try:
        seen = look(photo, source, progress)
    except ScribeError as refusal:
        if source.target is None and shows_strips((photo,)):  # several strips look like two prints
            return {"good": True, "notes": [_STRIPS], "facts": {}, "strips": True}
        here = told(refusal, PAGE)
        note = _note(here.kind, said=here.what, do=here.do)
        return {"good": False, "notes": [note], "facts": {}, "strips": False}
    return well_judged(seen.facts())


def well_judged(facts: Mapping[str, str]) -> dict[str, Any]:
    """Of a photo that could be oriented, from what was found of it."""
    if "sheet" not in facts or " used" not in facts.get("marks", ""):
        return {"good": True, "notes": [_STRIPS], "facts": dict(facts), "strips": True}
    count, rest = facts["marks"].split(" used", 1)
    notes = [
        _note("marks", said=f"{count} marks found on the sheet {facts['sheet']}"),
        _note("sharp", said=f"sharp enough ({rest.split(', ')[-1]})"),
    ]
    strips = " strip " in facts["sheet"]  # one strip alone is told as a sheet by its name
    if not strips:  # the outline of a run says once what its length hangs on
        notes.append(_scale_note(facts["print scale"]))
    return {"good": True, "notes": notes, "facts": dict(facts), "strips": strips}


def _scale_note(scale: str) -> dict[str, Any]:
    """A print that nobody measured does no harm but to U: good, with something to do."""
    known = re.sub(r", printer file [^;]+", "", scale)  # the page keeps that file, not the fitter
    note = _note("scale", said=f"print scale: {known}")
    if "not measured" in scale:
        note["do"] = "for a smaller U read the sheet's check bars and type them at Print"
    return note


def _note(kind: str, *, said: str, do: str = "") -> dict[str, Any]:
    return {"kind": kind, "good": not do, "said": said, "do": do}
