"""The page opens no file outside of a job's own folder, whatever job.toml names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from scribe.errors import ScribeError
from scribe.web.job_folder import JobFolder

# Keys of a job file whose value is a file's name, or a list of them.
FILE_KEYS = frozenset(
    ["photo", "file", "target", "printer", "camera", "near", "readings", "drawing", "tools"]
)


def refuse_outside(job: JobFolder, names: Iterable[str] | None = None) -> None:
    """Refuse a job.toml that names a file elsewhere: it may have come from anybody.

    names: of files that stand for what it names, as all of a folder; None for its own words.

    The command line, which is given its job file by whoever owns the files, reads it.
    """
    home = job.path.resolve()
    for name in _names(job.table()) if names is None else names:
        if not (job.path / name).resolve().is_relative_to(home):
            raise ScribeError(
                "page-outside",
                what=f"the job names the file {name[:80]}, which isn't in its folder",
                where=f"{job.id}/job.toml",
                do="copy the file into the job's folder and name it as it lies there",
            )


def _names(value: Any, key: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for inner, each in value.items():
            yield from _names(each, inner)
    elif isinstance(value, list):
        for each in value:
            yield from _names(each, key)
    elif key in FILE_KEYS and isinstance(value, str):
        yield value
