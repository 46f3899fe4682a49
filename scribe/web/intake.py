"""Photos that come in: bounded, kept under names of our own, put into job.toml."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.files import ready_folder, write_bytes
from scribe.quantity import parse_length
from scribe.web.bundle import PHOTO_NAME
from scribe.web.changes import Change, apply
from scribe.web.job_folder import JobFolder
from scribe.web.jobs import checked_name
from scribe.web.sights import photo_table, photos_in_use, tapes_along

MOST_BYTES = 80 * 2**20
MOST_PHOTOS = 60  # in use; those of checks and those taken away are kept beside them,
_MOST_KEPT = 500  # so many in all
KINDS = ("gauge", "line", "edge")
# First bytes of the files that phones write: the name of the file is not believed.
_ENDINGS = ((b"\xff\xd8\xff", ".jpg"), (b"\x89PNG\r\n", ".png"), (b"II*\x00", ".tif"),
            (b"MM\x00*", ".tif"))  # fmt: skip


async def bounded(stream: AsyncIterator[bytes], most: int) -> AsyncIterator[bytes]:
    """A body part by part, as long as it stays within bounds."""
    size = 0
    async for part in stream:
        size += len(part)
        if size > most:
            raise ScribeError(
                "page-too-large",
                what=f"the file is larger than {most // 2**20} MB",
                where="upload",
                do="send the photo as the phone took it, at its ordinary size",
            )
        yield part


async def body_of(stream: AsyncIterator[bytes], most: int = MOST_BYTES) -> bytes:
    """A whole body within bounds."""
    return b"".join([part async for part in bounded(stream, most)])


def take_photo(job: JobFolder, data: bytes, query: dict[str, str]) -> tuple[str, str | None]:
    """Keep a photo and say in job.toml what it is for; its name and outline, if any."""
    purpose = query.get("for", "outline")
    if purpose not in ("outline", "check", "camera"):
        raise _wrong("for", "say what the photo is for: outline, check or camera")
    original = query.get("name", "")[:80]
    original = original if original.isprintable() and original else "photo"
    with job.lock:
        refuse_too_many(job, purpose, original)
        outline = checked_name(query.get("outline", "")) if purpose == "outline" else None
        table = _table(job, outline, query) if outline else None
        name = keep_photo(job, data, original, purpose, outline)
        if outline and table is not None:
            table["photo"] = [*table["photo"], f"photos/{name}"]
            at = ("outline", outline)
            apply(job, [Change(at, table)], job.version)
    return name, outline


def keep_photo(
    job: JobFolder, data: bytes, original: str, purpose: str, outline: str | None
) -> str:
    """Keep a photo under a name of our own, which job.toml doesn't know yet."""
    photos = job.kept("photos.json", {})
    original = _unlike(original, {photo["original"] for photo in photos.values()})
    name = f"{len(photos) + 1:03d}{_ending(data)}"
    for folder in (job.path, job.own):  # a job from the command line has neither
        ready_folder(folder / "photos")
    write_bytes(job.path / "photos" / name, data)
    told = {"original": original, "for": purpose, "outline": outline}
    job.keep("photos.json", photos | {name: told})
    return name


def refuse_too_many(job: JobFolder, purpose: str, original: str) -> None:
    """Refuse a photo more than the job takes: a check's don't count among those in use."""
    kept = len(job.kept("photos.json", {}))
    used = [each for each in photos_in_use(job).values() if each["for"] != "check"]
    if kept >= _MOST_KEPT:
        raise ScribeError(
            "page-too-many-photos",
            what=f"the job {job.id} has kept {kept} photos, with those of its checks and those"
            " that were taken away, and keeps no more",
            where=original,
            do="begin another job for what is still to be measured",
        )
    if purpose != "check" and len(used) >= MOST_PHOTOS:
        raise ScribeError(
            "page-too-many-photos",
            what=f"the job {job.id} has {len(used)} photos in use, and takes no more",
            where=original,
            do="take one away that isn't needed (at Photos) and send this one again, or begin"
            " another job",
        )


def _table(job: JobFolder, outline: str, query: dict[str, str]) -> dict[str, Any]:
    """[outline.NAME] with its photos as a list, to which this one is added."""
    of = query.get("of", "")
    if of not in KINDS:
        raise _wrong("of", "say what lies on the sheet: gauge, line or edge")
    before = photo_table(job, outline) if query.get("add") == "1" else {}
    table = dict(before) or {"photo": [], **newest(job, "printer"), **newest(job, "camera")}
    photo = table.get("photo", [])
    table["photo"] = [photo] if isinstance(photo, str) else list(photo)
    table["of"] = of
    if query.get("height"):
        table["height"] = parse_length(query["height"][:40], where="height")
    return table


def newest(job: JobFolder, kind: str) -> dict[str, str]:
    """The printer's or the lens's newest file, where there is one."""
    files = sorted(job.path.glob(f"{kind}-*.toml"), key=lambda path: (len(path.name), path.name))
    return {kind: files[-1].name} if files else {}


def keep_bars(job: JobFolder, x: str, y: str) -> None:
    """What the check bars read: a further printer's file, named by every photo's outline."""
    from scribe.recipes.printer import keep_printer

    bars = [parse_length(bar.replace(",", "."), where=axis) for axis, bar in (("x", x), ("y", y))]
    with job.lock:
        number = 1 + len(list(job.path.glob("printer-*.toml")))
        keep_printer((bars[0], bars[1]), None, job.path / f"printer-{number}.toml", force=True)
        name_newest(job, "printer")


def take_lens(job: JobFolder, other: JobFolder) -> None:
    """The lens that another job knows: a further file of this one, named by its outlines."""
    learnt = other.kept("camera.json", {})
    names = list(newest(other, "camera").values())
    if not names:
        raise ScribeError(
            "page-no-lens",
            what="that job knows no lens",
            where=other.id,
            do="choose another job, or learn the lens from photos",
        )
    with job.lock:
        file = f"camera-{1 + len(list(job.path.glob('camera-*.toml')))}.toml"
        drawn = (other.path / names[0]).with_suffix(".svg")
        if drawn.is_file():
            write_bytes((job.path / file).with_suffix(".svg"), drawn.read_bytes())
        write_bytes(job.path / file, (other.path / names[0]).read_bytes())
        job.keep("camera.json", {**learnt, "file": file})
        name_newest(job, "camera")


def name_newest(job: JobFolder, kind: str) -> None:
    """Let every outline from photos name the printer's or the lens's newest file."""
    with job.lock:
        changes = [
            Change(("outline", name, key), file)
            for name, table in job.table().get("outline", {}).items()
            for key, file in newest(job, kind).items()
            if "photo" in table
        ]
        if changes:
            apply(job, changes, job.version)


def drop_photo(job: JobFolder, photo: str) -> None:
    """Take a photo out of its outline; the last one takes the outline along, and
    what was taken with a tape beside it.
    """
    with job.lock:
        kept = job.kept("photos.json", {})
        if photo not in kept:
            raise _no_photo(photo)
        outline = kept[photo]["outline"]
        if outline is None:
            job.keep("photos.json", {n: p | ({"gone": True} if n == photo else {})
                                     for n, p in kept.items()})  # fmt: skip
            return
        table = dict(photo_table(job, outline))
        photos = table.get("photo", [])
        left = [each for each in ([photos] if isinstance(photos, str) else photos)
                if Path(each).name != photo]  # fmt: skip
        if left:
            changes = [Change(("outline", outline), table | {"photo": left})]
        else:
            named = {n: each for n, each in tapes_along(job.table(), outline).items()
                     if "outline" in each}  # fmt: skip
            changes = [Change(("outline", outline), None)]
            changes += [Change(("tape", number), None) for number in sorted(named, reverse=True)]
        apply(job, changes, job.version)


def _unlike(name: str, others: set[str]) -> str:
    """The name, with a number where another photo has it: some phones call every photo the same."""
    path = Path(name)
    numbered = (f"{path.stem} ({n}){path.suffix}" for n in range(2, _MOST_KEPT + 2))
    return next(each for each in (name, *numbered) if each not in others)


def photo_path(job: JobFolder, photo: str) -> Path:
    """A photo that the job knows; nothing else becomes a path."""
    if photo not in job.kept("photos.json", {}) or not PHOTO_NAME.fullmatch(photo):
        raise _no_photo(photo)
    return job.path / "photos" / photo


def _ending(data: bytes) -> str:
    if data[4:8] == b"ftyp":
        return ".heic"
    found = next((ending for start, ending in _ENDINGS if data.startswith(start)), None)
    if found is None:
        raise ScribeError(
            "page-not-a-photo",
            what="this file is not a photo",
            where="upload",
            do="choose a JPEG, HEIC, PNG or TIFF",
        )
    return found


def _wrong(where: str, do: str) -> ScribeError:
    return ScribeError("page-value", what="that value makes no sense here", where=where, do=do)


def _no_photo(photo: str) -> ScribeError:
    return ScribeError(
        "page-no-photo-there",
        what="there is no such photo",
        where=photo[:40],
        do="load the page again",
    )
