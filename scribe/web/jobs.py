"""All jobs of the page: a folder of folders. Names from outside never become paths."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
import uuid
from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.files import ready_folder
from scribe.web.job_folder import JobFolder

MOST_JOBS = 500
LONGEST_NAME = 80
_ID = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,58}[a-z0-9])?")
_REMOVED = ".removed"


class Jobs:
    """The folder of the jobs."""

    def __init__(self, root: Path) -> None:
        self.root = ready_folder(root)

    def open(self, ident: str) -> JobFolder:
        """The job of that id."""
        path = self.root / ident if _ID.fullmatch(ident) else None
        if path is None or not (path / "job.toml").is_file():
            raise ScribeError(
                "page-no-job",
                what="there is no such job",
                where=ident[:LONGEST_NAME],
                do="choose one from the list of jobs",
            )
        return JobFolder(path)

    def all(self) -> list[JobFolder]:
        """Every job, what was changed last first."""
        found = [path.parent for path in self.root.glob("*/job.toml")
                 if _ID.fullmatch(path.parent.name)]  # fmt: skip
        return [JobFolder(path) for path in
                sorted(found, key=lambda path: -(path / "job.toml").stat().st_mtime)]  # fmt: skip

    def listed(self) -> list[dict[str, Any]]:
        """What the list of jobs shows."""
        shown = []
        for job in self.all():
            try:
                name = job.table().get("name", job.id)
            except ScribeError as refusal:
                name = f"{job.id}: {refusal.what}"
            picture = next((job.own / "photos").glob("*-small.jpg"), None)
            shown.append(
                {
                    "id": job.id,
                    "name": str(name),
                    "changed": changed(job),
                    "href": f"/jobs/{job.id}",
                    "picture": f"/jobs/{job.id}/picture" if picture else None,
                }
            )
        return shown

    def create(self, name: str) -> JobFolder:
        """A new, empty job."""
        import tomlkit

        name = checked_name(name)
        self.refuse_more()
        job = JobFolder(self._free(name))
        job.path.mkdir(parents=True)
        job.make(tomlkit.dumps({"name": name}))
        return job

    def placed(self, folder: Path, name: str) -> JobFolder:
        """A folder that was made ready aside, as a job under a free name."""
        path = self._free(name)
        folder.rename(path)
        return JobFolder(path)

    def refuse_more(self) -> None:
        """Refuse a further job where there are as many as the page keeps."""
        if len(list(self.root.glob("*/job.toml"))) >= MOST_JOBS:
            raise ScribeError(
                "page-too-many-jobs",
                what=f"there are {MOST_JOBS} jobs already",
                where=str(self.root),
                do="take some of them away first",
            )

    def remove(self, job: JobFolder) -> None:
        """Set a job aside; nothing is deleted."""
        aside = self.root / _REMOVED
        aside.mkdir(exist_ok=True)
        with job.lock:
            job.path.rename(aside / f"{job.id}-{uuid.uuid4().hex[:8]}")

    def _free(self, name: str) -> Path:
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
        ident = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].strip("-") or "job"
        path, number = self.root / ident, 2
        while path.exists():
            path, number = self.root / f"{ident}-{number}", number + 1
        return path


def changed(job: JobFolder) -> str:
    """When job.toml was written last, as text that sorts."""
    when = dt.datetime.fromtimestamp(job.toml.stat().st_mtime, dt.UTC)
    return when.isoformat(timespec="seconds")


def checked_name(name: object) -> str:
    """A name for people, from outside."""
    text = " ".join(str(name).split()) if isinstance(name, str) else ""
    if not text or len(text) > LONGEST_NAME or not text.isprintable():
        raise ScribeError(
            "page-name",
            what="that can't be a name" if text else "there is no name",
            where="name",
            do=f"give one of at most {LONGEST_NAME} letters",
        )
    return text
