"""One page to a folder of jobs, and a folder without what a killed one left behind.

Two servers on one folder would each keep locks of their own, and lose each other's changes: so the
first holds a lock of the system's on a file in it, which ends with the process however it ends.
"""

from __future__ import annotations

import re
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from scribe.errors import ScribeError
from scribe.files import ready_folder

_HELD = ".serving"
# Bodies that came in, archives on their way in or out: of nobody once their server is gone.
_UPLOADS = (".came-*", ".in-*", ".out-*")
# As `scribe.files` names what it moves into place when it is whole.
_UNFINISHED = re.compile(r"\..+\.[a-z0-9_]{8}|\.scribe-[a-z0-9_]{8}")
_OLD_S = 600.0  # the command line may be writing there now; no write lasts so long


@contextmanager
def alone(folder: Path) -> Iterator[Callable[[int], None]]:
    """Hold the folder; refuse one that another server holds ("serve-folder-taken").

    Yields what writes down the port that is listened at, for who comes second.
    """
    with (ready_folder(folder) / _HELD).open("a+", encoding="utf-8") as held:
        if not _locked(held):
            held.seek(0)
            said = held.read(8).strip()
            raise ScribeError(
                "serve-folder-taken",
                what=f"another page keeps these jobs already{f', at port {said}' if said else ''}",
                where=str(folder),
                do="use that one, stop it first, or give another {folder}",
            )

        def at_port(port: int) -> None:
            held.truncate(0)
            held.write(f"{port}\n")
            held.flush()

        yield at_port


def swept(folder: Path) -> list[Path]:
    """Take away what was never finished: uploads, and files that were not moved into place."""
    left = [path for pattern in _UPLOADS for path in folder.glob(pattern)]
    old = time.time() - _OLD_S
    for job in folder.glob("*/job.toml"):
        left += [
            path
            for path in job.parent.rglob(".*")
            if _UNFINISHED.fullmatch(path.name) and path.lstat().st_mtime < old
        ]
    for path in left:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
    return left


def _locked(file: IO[str]) -> bool:
    """Whether the lock is ours now."""
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(2**20)  # a byte that nobody reads: a locked one couldn't be
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
