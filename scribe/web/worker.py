"""What a worker process does: the long work of a job, told as it goes. It alone opens photos.

A worker is given the job's folder and what to do; it writes how far it is to `.page/works/ID.json`
and its results beside the job, each file whole or not at all. Stopping it harms nothing.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.files import write_bytes
from scribe.places import PAGE
from scribe.web.inside import refuse_outside
from scribe.web.job_folder import JobFolder, digest, outline_folder
from scribe.web.photo_names import named
from scribe.web.refusals import error_json

Work = dict[str, Any]
Say = Callable[[str], None]

_MOST_MEMORY = 6 * 2**30  # of address space; a 200 megapixel photo needs less than 2 GiB
_MOST_SECONDS = 300  # of processor time


def run(folder: Path, work: Work) -> None:
    """Do one piece of work; whatever comes of it is said in its file."""
    _limited()
    job = JobFolder(folder)

    def say(words: str) -> None:
        work["said"] = [*work["said"], named(_photos(job), words)][-30:]
        _tell(job, work)

    work["state"] = "running"
    _tell(job, work)
    try:
        refuse_outside(job)
        work["result"] = _ACTS[work["do"]](job, work, say)
        work["state"] = "done"
    except ScribeError as refusal:
        told, photos = error_json(refusal, folder), _photos(job)
        work["state"] = "refused"
        work["error"] = {key: named(photos, words) for key, words in told.items()}
    except MemoryError:
        work["state"], work["error"] = "refused", error_json(too_much(work["of"]))
    _tell(job, work)


def answering(pipe: Any, function: Callable[..., Any], arguments: Sequence[Any]) -> None:
    """Send back what a function returns, or its refusal."""
    _limited()
    try:
        pipe.send(function(*arguments))
    except ScribeError as refusal:
        pipe.send(refusal)
    except MemoryError:
        pipe.send(too_much("drawing"))


def drawn(toml: Path, number: int, traced: dict[str, Path]) -> bytes:
    """A piece as the job has it now, as SVG."""
    from scribe.recipes.page.cut import drawing_svg

    return drawing_svg(toml, number, traced)


def too_much(where: str) -> ScribeError:
    """The refusal of what goes beyond a worker's bounds."""
    return ScribeError(
        "page-too-much",
        what="this needs more memory or time than it may have",
        where=where,
        do="take the photo at the phone's ordinary size, or give a simpler drawing",
    )


def _tell(job: JobFolder, work: Work) -> None:
    job.keep(f"works/{work['id']}.json", {k: v for k, v in work.items() if k != "arguments"})


def _limited() -> None:
    """Bounds for this process, and a group of its own, so that it ends with what it begins."""
    if sys.platform == "win32":
        return
    os.setsid()
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (_MOST_SECONDS, _MOST_SECONDS))


def _look(job: JobFolder, work: Work, say: Say) -> None:
    """Pictures and judgement of photos that came in, then their outline at once; a run of strips
    is traced when all of its photos are there, where its outline is asked for.
    """
    outline = work["arguments"]["outline"]
    seen = [_looked(job, photo, outline, say) for photo in work["arguments"]["photos"]]
    sheets = all(each["good"] and not each["strips"] for each, _ in seen)
    if outline is not None and sheets and not any(traced for _, traced in seen):
        _traced(job, outline, say)


def _looked(
    job: JobFolder, photo: str, outline: str | None, say: Say
) -> tuple[dict[str, Any], bool]:
    """What can be said of a photo, and whether the outline that has no other was traced in it."""
    from scribe.recipes.page.outline import outline_job
    from scribe.recipes.page.photo import judged, pictures, sheet_alone

    path = job.path / "photos" / photo
    say(f"looking at {photo}")
    try:
        size, shown, small = pictures(path)
    except ScribeError as refusal:
        told = error_json(refusal)
        note = {"kind": refusal.kind, "good": False, "said": told["what"], "do": told["do"]}
        unread = {"good": False, "notes": [note], "facts": {}, "strips": False}
        job.keep(f"photos/{photo}.json", {"size_px": None, "judged": unread})
        return unread, False
    write_bytes(job.own / "photos" / f"{photo}-shown.jpg", shown)
    write_bytes(job.own / "photos" / f"{photo}-small.jpg", small)
    job.keep(f"photos/{photo}.json", {"size_px": list(size), "judged": None})
    source = sheet_alone(path) if outline is None else outline_job(job.toml, outline).source
    lone = outline if outline is not None and len(_photos_of(job, outline)) == 1 else None
    try:
        if lone is not None:
            traced = _traced(job, lone, say)
            judgement: dict[str, Any] = traced["judged"]  # what can be traced will do
        else:
            judgement = judged(path, source, say)
    except ScribeError:
        judgement = judged(path, source, say)
        if judgement["good"] and not judgement["strips"]:
            job.keep(f"photos/{photo}.json", {"size_px": list(size), "judged": judgement})
            raise
    job.keep(f"photos/{photo}.json", {"size_px": list(size), "judged": judgement})
    return judgement, lone is not None


def _photos_of(job: JobFolder, outline: str) -> list[str]:
    """The names of an outline's photos."""
    photo = job.table()["outline"][outline].get("photo", [])
    return [Path(each).name for each in ([photo] if isinstance(photo, str) else photo)]


def _photos(job: JobFolder) -> dict[str, Any]:
    """What is known of the job's photos, by their names in its folder."""
    return dict(job.kept("photos.json", {}))


def _trace(job: JobFolder, work: Work, say: Say) -> None:
    """Photos that nobody saw yet, since that was cancelled or broken off, are looked at first."""
    for photo in _photos_of(job, work["of"]):
        kept = photo in _photos(job)
        if kept and not (job.own / "photos" / f"{photo}-shown.jpg").is_file():
            _looked(job, photo, work["of"], say)
    _traced(job, work["of"], say)


def _traced(job: JobFolder, outline: str, say: Say) -> dict[str, Any]:
    from scribe.recipes.page.outline import trace_for_page
    from scribe.web.sights import places_file, sight_file, source_key

    table = job.table()["outline"][outline]
    source = source_key(job, outline)  # what is changed while it is traced makes it stale
    out = job.path / "outlines" / outline_folder(outline)

    def placed(sights: list[dict[str, Any]]) -> None:
        content = {"photo": table.get("photo"), "sights": sights}
        job.keep(places_file(outline), content)

    found = trace_for_page(job.toml, outline, out, say, placed)
    for key in ("advice", "lines"):
        found[key] = [named(_photos(job), each) for each in found[key]]
    traced = digest((out / "outline.json").read_bytes())
    found |= {"source": source, "traced": traced, "steps": [], "corrected": False}
    job.keep(sight_file(outline, table), found)
    return found


def _make(job: JobFolder, work: Work, say: Say) -> None:
    from scribe.recipes.make import make_job
    from scribe.recipes.page.cut import made_json

    version, before = job.version, _tables(job)
    dxf = bool(work["arguments"]["dxf"])
    result = make_job(
        job.toml, job.path / "made", dxf=dxf, force=True, needed=True, words=PAGE, progress=say
    )
    made = made_json(result)
    files = sorted(path.name for path in result.written)
    now = _tables(job)
    job.changed_kept("ticks.json", {}, lambda ticks: holding(ticks, before, now))
    job.keep("made.json", {"version": version, "pieces": made["pieces"], "files": files})


def _tables(job: JobFolder) -> dict[str, bytes]:
    """What comes off where, by piece."""
    ending = "-remove.csv"
    found = (job.path / "made").glob(f"*{ending}")
    return {path.name.removesuffix(ending): path.read_bytes() for path in found}


def holding(
    ticks: dict[str, Any], before: dict[str, bytes], now: dict[str, bytes]
) -> dict[str, Any]:
    """The ticks that still mean something: a piece whose table changed is not planed yet."""
    return {piece: each for piece, each in ticks.items() if before.get(piece) == now.get(piece)}


def _check(job: JobFolder, work: Work, say: Say) -> None:
    from scribe.recipes.page.cut import check_for_page

    found = check_for_page(job.toml, work["arguments"], job.path / "checked", say)
    job.keep("checked.json", {"piece": work["arguments"]["piece"], **found})


def _camera(job: JobFolder, work: Work, say: Say) -> None:
    """Learn the lens of the phone; the server, which alone changes job.toml, then names it."""
    from scribe.recipes.camera import learn, write_learnt

    photos = [job.path / "photos" / name for name in work["arguments"]["photos"]]
    learnt = learn(photos, None, say)
    number = 1 + len(list(job.path.glob("camera-*.toml")))
    path, _ = write_learnt(learnt, job.path / f"camera-{number}.toml", force=False)
    told = learnt.summary()
    told["left_out"] = {named(_photos(job), name): why for name, why in told["left_out"].items()}
    job.keep("camera.json", {"file": path.name, "lines": learnt.lines(), **told})


_ACTS: dict[str, Callable[[JobFolder, Work, Say], None]] = {
    "look": _look,
    "trace": _trace,
    "make": _make,
    "check": _check,
    "camera": _camera,
}
