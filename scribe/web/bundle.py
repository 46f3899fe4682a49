"""A whole job as one file, out and in. What comes in is believed in nothing.

An archive is unpacked beside the jobs and moved among them when all of it is there: one that is
too large, climbs out of its folder or breaks off leaves nothing behind. The page's own notes are
taken over where they can do no harm; earlier versions of job.toml stay where they were.
"""

from __future__ import annotations

import re
import shutil
import struct
import tempfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Any

from scribe.errors import ScribeError
from scribe.web.believed import drop_strange
from scribe.web.job_folder import JobFolder, parsed
from scribe.web.jobs import Jobs

MOST_BYTES = 400 * 2**20
MOST_UNPACKED = 800 * 2**20
MOST_FILES = 2000
_DEEPEST = 4
_PART = re.compile(r"[^\\/:*?\"<>|\x00-\x1f]{1,160}")
# Of what the page keeps for itself: what it can't make again, and what saves making it again.
_OWN = re.compile(r"\.page/(?:photos\.json|ticks\.json|(?:photos|sights)/[\w.-]{1,120})")
PHOTO_NAME = re.compile(r"\d{3,6}\.(?:jpg|png|tif|heic)")
_CHUNK = 2**16
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, EOFError, ValueError)


def packed(job: JobFolder, folder: Path) -> Path:
    """The job as one file in the folder; whoever asked takes it away again."""
    with (
        tempfile.NamedTemporaryFile(dir=folder, prefix=".out-", delete=False) as out,
        job.lock,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
    ):
        for path in sorted(job.path.rglob("*")):
            inside = path.relative_to(job.path).as_posix()
            if path.is_file() and not path.is_symlink() and _welcome(inside):
                archive.write(path, inside)
    return Path(out.name)


def unpacked(jobs: Jobs, archive_file: Path) -> JobFolder:
    """The job that the file holds, under a name that is free; refuses what isn't a job."""
    jobs.refuse_more()
    aside = Path(tempfile.mkdtemp(dir=jobs.root, prefix=".in-"))
    try:
        with zipfile.ZipFile(archive_file) as archive:
            _write_out(archive, aside)
        if not (aside / "job.toml").is_file():
            raise _not_a_job("there is no job.toml in it")
        text = (aside / "job.toml").read_bytes()
        table = parsed(text, Path("import/job.toml"))
        job = JobFolder(aside)
        job.keep("photos.json", _believed(job.kept("photos.json")))
        drop_strange(job.own)
        job.make(text.decode("utf-8"))
        return jobs.placed(aside, str(table.get("name", "job")))
    except _BROKEN as error:
        raise _not_a_job("it can't be read") from error
    except OSError as error:
        raise _not_a_job(f"it can't be kept ({error.strerror})") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _write_out(archive: zipfile.ZipFile, folder: Path) -> None:
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_UNPACKED:
        raise _not_a_job("it holds more than a job can")
    left = MOST_UNPACKED
    for entry in entries:
        if not _welcome(entry.filename):
            continue
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise _not_a_job("it is packed in a way that the page doesn't use")
        path = folder / entry.filename
        path.parent.mkdir(parents=True, exist_ok=True)
        with archive.open(entry) as source, path.open("xb") as out:
            while part := source.read(_CHUNK):
                left -= len(part)  # what an entry says of its size need not be so
                if left < 0:
                    raise _not_a_job("it holds more than a job can")
                out.write(part)


def _welcome(name: str) -> bool:
    """A plain file inside the job's folder: nothing that climbs out of it, nothing hidden."""
    parts = PurePosixPath(name).parts
    if name != "/".join(parts) or not 0 < len(parts) <= _DEEPEST:
        return False
    if parts[0] == ".page":
        return _OWN.fullmatch(name) is not None
    return all(_PART.fullmatch(part) and part[0] != "." for part in parts)


def _believed(photos: Any) -> dict[str, Any]:
    """photos.json with nothing in it but what the page itself would write."""
    if not isinstance(photos, dict):
        return {}
    kept: dict[str, Any] = {}
    for name, photo in photos.items():
        if PHOTO_NAME.fullmatch(name) and isinstance(photo, dict):
            purpose, outline = photo.get("for"), photo.get("outline")
            kept[name] = {
                "original": str(photo.get("original", "photo"))[:80],
                "for": purpose if purpose in ("outline", "check", "camera") else "check",
                "outline": outline if isinstance(outline, str) else None,
            } | ({"gone": True} if photo.get("gone") is True else {})
    return kept


def _not_a_job(what: str) -> ScribeError:
    return ScribeError(
        "page-import",
        what=f"this file is no job: {what}",
        where="import",
        do="choose the file that the page gave out when the job was kept",
    )
