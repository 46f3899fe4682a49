"""Photos of a job that was made at the command line: they lie where its job.toml says.

The page keeps photos under names of its own and shows no others. Taking them in copies them and
lets job.toml name the copies; the ones that were there stay, and undo names them again.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from pathlib import Path
from typing import Any

from scribe.web.changes import Change, apply
from scribe.web.inside import refuse_outside
from scribe.web.intake import keep_photo, refuse_too_many
from scribe.web.job_folder import JobFolder


def strange(toml: Mapping[str, Any], kept: Container[str]) -> list[str]:
    """The outlines of a job.toml with photos that the page doesn't keep. kept: those it does."""
    return [
        outline
        for outline, table in toml.get("outline", {}).items()
        for photo in [table.get("photo", [])]
        if any(
            each != f"photos/{Path(each).name}" or Path(each).name not in kept
            for each in ([photo] if isinstance(photo, str) else photo)
        )
    ]


def take_in(job: JobFolder) -> dict[str, list[str]]:
    """Keep them; the names they have now, by outline."""
    from scribe.recipes.page.outline import photos_of

    taken: dict[Path, str] = {}  # two outlines may have been traced in the same photos
    changes, names = [], {}
    with job.lock:
        refuse_outside(job)
        for outline in strange(job.table(), job.kept("photos.json", {})):
            paths = photos_of(job.toml, outline)
            refuse_outside(job, [str(path) for path in paths])
            for path in paths:
                if path.parent == job.path / "photos" and path.name in job.kept("photos.json", {}):
                    taken[path] = path.name
                if path not in taken:
                    refuse_too_many(job, "outline", path.name)
                    taken[path] = keep_photo(job, path.read_bytes(), path.name, "outline", outline)
            names[outline] = [taken[path] for path in paths]
            photo = [f"photos/{name}" for name in names[outline]]
            changes.append(Change(("outline", outline, "photo"), photo))
        if changes:
            apply(job, changes, job.version)
    return names
