"""One job as a folder: job.toml with its earlier versions, and what the page keeps beside it.

`job.toml` is the only file that is ever changed; every state of it is kept, so that undo is
one file put back. A version is the digest of its bytes: a change made by the command line or
an editor is a version too.
"""

from __future__ import annotations

import hashlib
import json
import re
import threading
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scribe.errors import ScribeError
from scribe.files import write_bytes, write_text
from scribe.web.job_shape import fault_of

_KEPT_VERSIONS = 200
_LOCKS: dict[Path, threading.RLock] = {}
_LOCKS_LOCK = threading.Lock()


def lock_of(folder: Path) -> threading.RLock:
    """One for each folder: two requests never change a job at once."""
    with _LOCKS_LOCK:
        return _LOCKS.setdefault(folder, threading.RLock())


def outline_folder(outline: str) -> str:
    """The folder of an outline: its name where that is plain, else what is plain of it."""
    plain = re.sub(r"[^A-Za-z0-9_-]+", "-", outline).strip("-")
    same = plain == outline
    return plain if same else f"{plain}-{hashlib.sha256(outline.encode()).hexdigest()[:6]}"


def digest(content: bytes) -> str:
    """The version of a job.toml."""
    return hashlib.sha256(content).hexdigest()[:16]


class JobFolder:
    """The folder of one job."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.id = path.name
        self.toml = path / "job.toml"
        self.own = path / ".page"
        self.lock = lock_of(path)

    def make(self, text: str) -> None:
        """A new folder with its first job.toml."""
        for folder in (self.path / "photos", self.path / "outlines", self.own / "versions"):
            folder.mkdir(parents=True, exist_ok=True)
        for name in ("works", "photos", "sights"):
            (self.own / name).mkdir(exist_ok=True)
        write_text(self.toml, text)
        self._noticed()

    def content(self) -> bytes:
        """job.toml as it stands."""
        try:
            return self.toml.read_bytes()
        except OSError as error:
            raise _damaged(self.toml, f"can't be read ({error.strerror})") from error

    def table(self) -> dict[str, Any]:
        """job.toml as plain values."""
        return parsed(self.content(), self.toml)

    @property
    def version(self) -> str:
        """Of job.toml as it stands."""
        return digest(self.content())

    def write(self, text: str) -> None:
        """A further version; what had been undone is dropped.

        Kept first, then put into place, then counted: where the disk is full in between, the
        job is the old one or the new one, and the next look at it finds out which.
        """
        with self.lock:
            history = self._noticed()
            names = self._with_version(text.encode("utf-8"), history["names"][: history["at"] + 1])
            write_text(self.toml, text)
            self._write_history(names, len(names) - 1)

    def turn(self, by: int) -> None:
        """Undo (-1) or redo (+1) one change; refuses at either end."""
        with self.lock:
            history = self._noticed()
            at = history["at"] + by
            if not 0 <= at < len(history["names"]):
                raise ScribeError(
                    "page-no-undo",
                    what="there is nothing to undo" if by < 0 else "there is nothing to redo",
                    where=self.id,
                    do="go on with the job as it is",
                )
            write_bytes(self.toml, (self.own / "versions" / history["names"][at]).read_bytes())
            self._write_history(history["names"], at)

    def turns(self) -> tuple[bool, bool]:
        """Whether there is something to undo, and to redo."""
        history = self._noticed()
        return history["at"] > 0, history["at"] + 1 < len(history["names"])

    def old(self, version: str) -> dict[str, Any] | None:
        """The job.toml of a version, None when it isn't kept any more."""
        for name in self._history()["names"]:
            if name.endswith(f"-{version}.toml"):
                path = self.own / "versions" / name
                return parsed(path.read_bytes(), path)
        return None

    def kept(self, name: str, default: Any = None) -> Any:
        """A JSON file of the page's own."""
        try:
            return json.loads((self.own / name).read_text("utf-8"))
        except (OSError, ValueError):
            return default

    def keep(self, name: str, value: Any) -> None:
        """Write a JSON file of the page's own, at once and whole."""
        path = self.own / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_text(path, json.dumps(value, ensure_ascii=False))

    def changed_kept(self, name: str, default: Any, change: Callable[[Any], Any]) -> Any:
        """Read, change and write a JSON file while nobody else does."""
        with self.lock:
            value = change(self.kept(name, default))
            self.keep(name, value)
            return value

    def _history(self) -> dict[str, Any]:
        history = self.kept("history.json", {"names": [], "at": -1})
        return history if isinstance(history, dict) else {"names": [], "at": -1}

    def _noticed(self) -> dict[str, Any]:
        """The history, with what was changed from outside as its newest version."""
        with self.lock:
            history, content = self._history(), self.content()
            names, at = history["names"], history["at"]
            if not names or not names[at].endswith(f"-{digest(content)}.toml"):
                names = self._with_version(content, names[: at + 1])
                self._write_history(names, len(names) - 1)
                history = self._history()
            return history

    def _with_version(self, content: bytes, before: list[str]) -> list[str]:
        """The names of the versions with one more, which is kept."""
        number = int(before[-1].split("-")[0]) + 1 if before else 1
        name = f"{number:06d}-{digest(content)}.toml"
        folder = self.own / "versions"
        folder.mkdir(parents=True, exist_ok=True)
        write_bytes(folder / name, content)
        return [*before, name][-_KEPT_VERSIONS:]

    def _write_history(self, names: list[str], at: int) -> None:
        self.keep("history.json", {"names": names, "at": at})


def parsed(content: bytes, path: Path) -> dict[str, Any]:
    """TOML to plain values, of the shape that every screen relies on."""
    try:
        table = tomllib.loads(content.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise _damaged(path, f"is not a job file ({error})") from error
    if fault := fault_of(table):
        raise _damaged(path, fault)
    return table


def _damaged(path: Path, what: str) -> ScribeError:
    return ScribeError(
        "page-job-damaged",
        what=f"{path.name} {what}",
        where=path.parent.name,
        do="mend the file with an editor; how it was before lies in .page/versions beside it",
    )
