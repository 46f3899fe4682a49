"""`scribe demo`: lay a small whole job out in a folder and make it.

The folder keeps a list of what the demo put there, with a fingerprint of each file, so that
a second run may write over its own work and never over anybody else's.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from importlib import resources
from pathlib import Path

from scribe.errors import ScribeError
from scribe.files import ready_folder, write_bytes, write_text
from scribe.recipes.make import make_job

LIST = "files-of-the-demo.txt"
JOB = "job.toml"
MADE = "made"


def make_demo(
    folder: Path, *, force: bool = False, progress: Callable[[str], None] = lambda _: None
) -> list[Path]:
    """Copy the demo's job and photos to folder, make the job in folder/made, list the results.

    Refuses a folder that holds what the demo did not put there, or what was changed since.
    """
    if not force:
        _refuse_foreign(folder)
    ready_folder(folder)
    inputs = [write_bytes(folder / name, content) for name, content in _inputs()]
    try:
        make_job(folder / JOB, folder / MADE, force=True, progress=progress)
    finally:  # an interrupted run lists what it wrote too, so that it can be started again
        _write_list(folder, inputs)
    return _results(folder)


def _inputs() -> list[tuple[str, bytes]]:
    """Name and content of the job file and its photos, from the installed package."""
    data = resources.files("scribe").joinpath("demo_data")
    return [(each.name, each.read_bytes()) for each in data.iterdir() if each.is_file()]


def _refuse_foreign(folder: Path) -> None:
    ours = _read_list(folder)
    for path in folder.rglob("*"):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() or name == LIST:
            continue
        if name not in ours or _fingerprint(path) != ours[name]:
            raise ScribeError(
                "demo-folder-in-use",
                what=f"{name} is there, and the demo did not write it as it is now",
                where=str(folder),
                do="choose another folder {elsewhere}, or {force} to write the demo into this one",
            )


def _fingerprint(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _results(folder: Path) -> list[Path]:
    return sorted(path for path in (folder / MADE).rglob("*") if path.is_file())


def _write_list(folder: Path, inputs: list[Path]) -> None:
    lines = [
        f"{_fingerprint(path)}  {path.relative_to(folder).as_posix()}\n"
        for path in [*inputs, *_results(folder)]
    ]
    write_text(folder / LIST, "".join(lines))


def _read_list(folder: Path) -> dict[str, str]:
    path = folder / LIST
    lines = path.read_text("utf-8").splitlines() if path.is_file() else []
    return {name: print_ for print_, _, name in (line.partition("  ") for line in lines)}
