"""Write beside, then move into place: an interrupted run leaves the old files whole."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from scribe.errors import ScribeError


def ready_folder(folder: Path) -> Path:
    """Make the output folder if needed and return it; refuse one that can't be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise ScribeError(
            "output-not-writable",
            what=f"nothing can be written there ({error.strerror})",
            where=str(folder),
            do="choose another folder {elsewhere}, or change its permissions",
        ) from error
    return folder


def refuse_existing(paths: list[Path], *, force: bool) -> None:
    """Refuse before any work is done when one of the outputs is there already."""
    taken = [] if force else [path for path in paths if path.exists()]
    if taken:
        raise ScribeError(
            "output-exists",
            what="this is there already and would be overwritten",
            where=", ".join(str(path) for path in taken[:3]) + (" ..." if taken[3:] else ""),
            do="choose another place {elsewhere}, or {force}",
        )


def write_bytes(path: Path, content: bytes) -> Path:
    """Write content to a temporary name in the same folder, then move it over path."""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise _unwritable(path, error) from error
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
    except OSError as error:
        Path(temporary).unlink(missing_ok=True)
        raise _unwritable(path, error) from error
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return path


def write_text(path: Path, content: str) -> Path:
    """As write_bytes, in UTF-8 with plain newlines."""
    return write_bytes(path, content.encode("utf-8"))


def write_together(folder: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Write every file aside in the folder before the first is moved over its name.

    A full disk or an interruption while writing then leaves the whole old set in place.
    """
    for name in contents:
        if (folder / name).is_dir():
            raise _unwritable(folder / name, IsADirectoryError(21, "a folder has that name"))
    try:
        with tempfile.TemporaryDirectory(dir=folder, prefix=".scribe-") as aside:
            ready = {name: write_bytes(Path(aside) / name, data) for name, data in contents.items()}
            for name, path in ready.items():
                path.replace(folder / name)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return [folder / name for name in contents]


def _unwritable(path: Path, error: OSError) -> ScribeError:
    return ScribeError(
        "output-not-writable",
        what=f"could not be written ({error.strerror})",
        where=str(path),
        do="free some space or choose another folder {elsewhere}; the old files are untouched",
    )
