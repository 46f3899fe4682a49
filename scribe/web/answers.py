"""A job as `GET /api/jobs/ID` answers it: everything the page shows, as plain values."""

from __future__ import annotations

from typing import Any

from scribe.web import sights
from scribe.web.job_folder import JobFolder
from scribe.web.jobs import changed
from scribe.web.works import Works

_OF_SIGHT = ("u95_mm", "measured", "lines", "advice", "steps")


def job_json(job: JobFolder, works: Works, **more: Any) -> dict[str, Any]:
    """The whole job."""
    table = job.table()
    undo, redo = job.turns()
    outlines = table.get("outline", {})
    return {
        "id": job.id,
        "name": str(table.get("name", job.id)),
        "version": job.version,
        "href": f"/jobs/{job.id}",
        "changed": changed(job),
        "toml": table,
        "photos": _photos(job),
        "outlines": {name: _outline(job, name) for name in outlines},
        "work": works.of_job(job),
        "made": _made(job),
        "checked": job.kept("checked.json"),
        "lens": job.kept("camera.json"),
        "ticks": job.kept("ticks.json", {}),
        "undo": undo,
        "redo": redo,
        "merged": False,
    } | more


def _photos(job: JobFolder) -> list[dict[str, Any]]:
    """Those that job.toml names, and those of checks."""
    shown = []
    for name, photo in sights.photos_in_use(job).items():
        seen = job.kept(f"photos/{name}.json", {"size_px": None, "judged": None})
        root = f"/jobs/{job.id}/photos/{name}"
        shown.append(
            {"name": name, **photo, **seen, "small": f"{root}/small", "shown": f"{root}/shown"}
        )
    return shown


def _outline(job: JobFolder, name: str) -> dict[str, Any]:
    found = sights.known(job, name)
    if found is None:
        return {"traced": False, "fresh": False, "corrected": False,
                "lines": [], "advice": [], "steps": [], "table": []}  # fmt: skip
    return {"traced": True} | {
        key: found[key] for key in ("fresh", "corrected", "lines", "advice", "steps", "table")
    }


def _made(job: JobFolder) -> dict[str, Any] | None:
    made = job.kept("made.json")
    if not isinstance(made, dict):
        return None
    return {
        "fresh": made["version"] == job.version,
        "pieces": made["pieces"],
        "files": made["files"],
        "report": f"/jobs/{job.id}/made/report.html",
    }


def sight_json(job: JobFolder, outline: str) -> dict[str, Any] | None:
    """Outline and photos as they lie on each other, or photos alone where no outline was found in
    them; None where nobody knows how they lie.
    """
    views = sights.places(job, outline)
    found = sights.known(job, outline) or {}
    if not views:
        return None
    traced = any(each["outline_px"] for each in views)
    shown = {key: found.get(key, []) if traced else [] for key in _OF_SIGHT}
    return shown | {
        "fresh": traced and found["fresh"],
        "run": any(_strips(job, each["photo"]) for each in views),
        "by_hand": found.get("by_hand", [False] * len(shown["measured"])) if traced else [],
        "photos": [
            {
                **{key: each[key] for key in ("photo", "size_px", "outline_px", "first")},
                "shown": f"/jobs/{job.id}/photos/{each['photo']}/shown",
            }
            for each in views
        ],
    }


def _strips(job: JobFolder, photo: str) -> bool:
    judged = job.kept(f"photos/{photo}.json", {}).get("judged") or {}
    return bool(judged.get("strips"))
