"""Outlines as the page has them: what was traced, what was put right, and whether it still holds.

What is known of a traced outline lies in `.page/sights/`, under the name of the file that
job.toml means: undoing a correction in job.toml is undoing it here too.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.files import ready_folder, write_text
from scribe.web.inside import refuse_outside
from scribe.web.job_folder import JobFolder, digest, outline_folder
from scribe.web.refusals import malformed

_SHAPING = ("washer", "block", "smooth", "datum", "between", "end", "building")


def sight_file(outline: str, table: dict[str, Any]) -> str:
    """Where the page keeps what it knows of the outline that job.toml means."""
    corrected = table.get("file", "")
    ending = f"-{Path(corrected).stem}" if corrected else ""
    return f"sights/{outline_folder(outline)}{ending}.json"


def places_file(outline: str) -> str:
    """Where the page keeps how the photos of an outline lie that was refused."""
    return f"sights/{outline_folder(outline)}-places.json"


def places(job: JobFolder, outline: str) -> list[dict[str, Any]]:
    """Sights of the photos on which a finger can show the outline: those with the outline as it
    was traced, or, where it was refused, of the photos alone; none where nobody knows how they lie.
    """
    found, kept = known(job, outline), job.kept(places_file(outline))
    photo = photo_table(job, outline).get("photo")
    if found is not None and found["fresh"]:
        return list(found["sights"])
    if kept is not None and kept["photo"] == photo:
        return list(kept["sights"])
    return list(found["sights"]) if found and found["source"].get("photo") == photo else []


def tapes_along(toml: dict[str, Any], outline: str) -> dict[int, dict[str, Any]]:
    """What was taken with a tape along an outline's strips, by its number in job.toml: what names
    it, and, where it has several photos, what names none.
    """
    tapes, photo = toml.get("tape"), toml.get("outline", {}).get(outline, {}).get("photo")
    several = isinstance(photo, list) and len(photo) > 1
    return {
        number: each
        for number, each in enumerate(tapes if isinstance(tapes, list) else [])
        if isinstance(each, dict)
        if (each["outline"] == outline if "outline" in each else several)
    }


def source_key(job: JobFolder, outline: str) -> dict[str, Any]:
    """What the tracing of an outline depends on, to tell whether it still holds."""
    toml = job.table()
    table = toml["outline"][outline]
    key = {name: value for name, value in table.items() if name not in _SHAPING}
    printer = table.get("printer")
    if isinstance(printer, str):
        try:
            key["printer"] = (job.path / Path(printer).name).read_text("utf-8")
        except OSError:
            key["printer"] = ""
    tapes = list(tapes_along(toml, outline).values())
    return key | ({"tape": tapes} if tapes else {})


def known(job: JobFolder, outline: str) -> dict[str, Any] | None:
    """What is known of an outline as job.toml has it now; with `fresh`."""
    table = job.table().get("outline", {}).get(outline)
    if not isinstance(table, dict):
        return None
    found = job.kept(sight_file(outline, table))
    if not isinstance(found, dict) or "sights" not in found:
        return None
    fresh = bool(found["corrected"]) or (
        found["source"] == source_key(job, outline) and found["traced"] == _traced_now(job, outline)
    )
    return found | {"fresh": fresh}


def _traced_now(job: JobFolder, outline: str) -> str:
    """Of the outline.json that lies there: the command line, or work that was stopped just then,
    may have left another one than the one that is known.
    """
    path = job.path / "outlines" / outline_folder(outline) / "outline.json"
    return digest(path.read_bytes()) if path.is_file() else ""


def traced_file(job: JobFolder, outline: str) -> Path | None:
    """The outline.json that was traced from a photo, where it still holds."""
    table = job.table()["outline"][outline]
    found = known(job, outline)
    if "photo" not in table or found is None or not found["fresh"]:
        return None
    path = job.path / "outlines" / outline_folder(outline) / "outline.json"
    return path if path.is_file() else None


def photo_table(job: JobFolder, outline: str) -> dict[str, Any]:
    """[outline.NAME] as it was before a correction: where its photos are."""
    table: dict[str, Any] = job.table().get("outline", {}).get(outline, {})
    if "file" in table:
        found = job.kept(sight_file(outline, table)) or {}
        return dict(found.get("photo_table", {}))
    return table


def photos_in_use(job: JobFolder) -> dict[str, dict[str, Any]]:
    """Of the photos that came in, those that job.toml names, and others that nobody took away."""
    named = set()
    for outline in job.table().get("outline", {}):
        photo = photo_table(job, outline).get("photo", [])
        named |= {Path(each).name for each in ([photo] if isinstance(photo, str) else photo)}
    return {
        name: photo
        for name, photo in job.kept("photos.json", {}).items()
        if not photo.get("gone") and (photo["outline"] is None or name in named)
    }


def correct(job: JobFolder, outline: str, correction: dict[str, Any]) -> None:
    """Pull a point or cut an end off: a further file, which job.toml means from then on."""
    import tomlkit

    from scribe.recipes.page.outline import corrected

    refuse_outside(job)
    with job.lock:
        table, now = job.table()["outline"][outline], known(job, outline)
        if now is None or not now["sights"] or not now["fresh"]:
            raise ScribeError(
                "page-not-traced",
                what="there is no line on a photo to put right",
                where=outline,
                do="trace it first",
            )
        folder = job.path / "outlines" / outline_folder(outline)
        before = job.path / table["file"] if "file" in table else folder / "outline.json"
        _refuse_unknown(now["sights"], correction)
        text, found = corrected(before, now["sights"], correction)
        number = 1 + max((int(p.stem.split("-")[1]) for p in folder.glob("corrected-*.json")),
                         default=0)  # fmt: skip
        name = f"corrected-{number}.json"
        write_text(folder / name, text)
        # A photo's stations run along the chord; a file would keep the sheet's own axis.
        changed = {"file": f"outlines/{folder.name}/{name}", "datum": "chord"}
        changed |= {key: table[key] for key in _SHAPING if key in table and key != "building"}
        words = "a point pulled to the edge" if correction["do"] == "drag" else "an end cut off"
        found |= {
            "steps": [*now["steps"], words],
            "corrected": True,
            "photo_table": photo_table(job, outline),
            "source": now["source"],
            "traced": now["traced"],
        }
        job.keep(sight_file(outline, changed), found)
        _replace(job, outline, tomlkit, changed)


def forget(job: JobFolder, outline: str) -> None:
    """The line as it was traced."""
    import tomlkit

    with job.lock:
        table = photo_table(job, outline)
        if table:
            _replace(job, outline, tomlkit, table)


def restrict(job: JobFolder, outline: str, correction: dict[str, Any]) -> None:
    """Say in job.toml where the outline starts and ends, or near which course it runs."""
    import tomlkit

    from scribe.recipes.page.outline import course_csv, on_sheet

    with job.lock:
        sights = places(job, outline)
        if not sights:
            raise ScribeError(
                "page-no-sight",
                what="nobody knows yet how this photo lies on the sheet",
                where=outline,
                do="trace it first; if that is refused, take the photo again",
            )
        _refuse_unknown(sights, correction)
        table = dict(photo_table(job, outline))
        if correction["do"] == "ends":
            start, end = on_sheet(sights, [correction["from_px"], correction["to_px"]])
            table |= {"from": start, "to": end}
        else:
            course = course_csv(sights, correction["points_px"])
            folder = job.path / "outlines" / outline_folder(outline)
            number = 1 + len(list(folder.glob("near-*.csv")))
            write_text(ready_folder(folder) / f"near-{number}.csv", course)
            table["near"] = f"outlines/{folder.name}/near-{number}.csv"
        _replace(job, outline, tomlkit, table)


def _refuse_unknown(sights: list[dict[str, Any]], correction: dict[str, Any]) -> None:
    """Points are of photos that are there."""
    points = [each for key in ("from_px", "to_px", "at_px") if (each := correction.get(key))]
    if any(point[2] >= len(sights) for point in [*points, *correction.get("points_px", [])]):
        raise malformed("point")


def _replace(job: JobFolder, outline: str, tomlkit: Any, table: dict[str, Any]) -> None:
    document = tomlkit.parse(job.content().decode("utf-8"))
    made = tomlkit.table()
    for key, value in table.items():
        made.append(key, value)
    document["outline"][outline] = made
    job.write(tomlkit.dumps(document))
