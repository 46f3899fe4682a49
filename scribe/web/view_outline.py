"""What the outline's screen shows: the line, its numbers, and what may make it surer."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

from scribe.web.job_folder import outline_folder
from scribe.web.view_cut import written
from scribe.web.view_parts import NO_WORK, one_of, photographs, work_of
from scribe.web.view_photos import strange_outlines, taken_of

View = dict[str, Any]
Query = Mapping[str, str]

_FIGURE = re.compile(r"(?P<name>outline|bow):? (?P<value>[\d.]+) \+/- (?P<U>[\d.]+) mm")
_NAMES = {"outline": "From end to end", "bow": "Bow"}


def outline_view(job: View, query: Query, folder: Path) -> View:
    """One outline: what runs for it, what was refused, and the line as it was traced."""
    outlines = list(job["toml"].get("outline", {}))
    if not outlines:
        return {"outline": "", "outlines": [], **NO_WORK}
    name = one_of(query.get("outline", ""), outlines)
    state = job["outlines"].get(name, {})
    lines = state.get("lines", [])
    return {
        "outline": name,
        "outlines": [(each, each) for each in outlines],
        "photos": taken_of(job, name),
        "strange": name in strange_outlines(job),
        "traced": state.get("traced", False),
        "fresh": state.get("fresh", False),
        "corrected": state.get("corrected", False),
        "figures": figures(lines),
        "lines": lines,
        "steps": state.get("steps", []),
        "table": state.get("table", []),
        "overlays": _overlays(job, name, folder),
        "from_file": not photographs(job["toml"]["outline"][name], state),
        "advice": state.get("advice", []),
        **work_of(job, lambda work: work["do"] in ("trace", "look") and work["of"] == name),
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
