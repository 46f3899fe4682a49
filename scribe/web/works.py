"""Long work in worker processes: begun, followed, stopped. What a worker says lies in its file.

Two run at once; what comes after waits. A page that is loaded again finds the work as it is;
work whose process died, or that ran when the server was stopped, is `lost`.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scribe.errors import ScribeError
from scribe.web.intake import name_newest
from scribe.web.job_folder import JobFolder
from scribe.web.worker import answering, run, too_much

AT_ONCE = 2
_WAITING = 20
_PATIENCE_S = 30.0  # for what somebody waits for
_SHOWN = 6  # of a job's works, the newest
RUNNING = ("waiting", "running")


@dataclass
class _Begun:
    job: JobFolder
    work: dict[str, Any]
    process: Any = None


class Works:
    """All work of the page."""

    def __init__(self) -> None:
        posix = sys.platform != "win32"
        self._context: Any = multiprocessing.get_context("forkserver" if posix else "spawn")
        if posix:
            self._context.set_forkserver_preload(["scribe.web.warm"])
        self._begun: dict[str, _Begun] = {}
        self._lock = threading.RLock()

    def warm(self) -> None:
        """Let the first worker not wait for its imports."""
        self._process(_nothing).start()

    def close(self) -> None:
        """End whatever runs; it is found as `lost` when the page is started again."""
        with self._lock:
            for begun in self._begun.values():
                if begun.process is not None:
                    ended(begun.process)

    def call(self, function: Callable[..., Any], *arguments: Any) -> Any:
        """What a function of the worker's module returns, run in a process with its bounds."""
        here, there = self._context.Pipe(duplex=False)
        process = self._process(answering, there, function, arguments)
        process.start()
        there.close()
        try:
            answer = here.recv() if here.poll(_PATIENCE_S) else None
        except EOFError:  # it died without a word: out of memory, or of its time
            answer = None
        finally:
            ended(process)
            here.close()
        if answer is None:
            raise too_much("drawing")
        if isinstance(answer, ScribeError):
            raise answer
        return answer

    def _process(self, target: Callable[..., None], *arguments: Any) -> Any:
        # No daemon: those may not have processes of their own, and a run of photos has.
        return self._context.Process(target=target, args=arguments, daemon=False)

    def begin(self, job: JobFolder, do: str, of: str, arguments: dict[str, Any]) -> dict[str, Any]:
        """Start it, or let it wait for its turn."""
        with self._lock:
            self.settle()
            if do == "trace" and (running := self._running(job, do, of)):
                return running  # asked for twice, by two windows or two photos that came in
            if sum(each.work["state"] in RUNNING for each in self._begun.values()) >= _WAITING:
                raise ScribeError(
                    "page-busy",
                    what="too much work is waiting already",
                    where=job.id,
                    do="wait until some of it is done, or cancel it",
                )
            work: dict[str, Any] = {
                "id": uuid.uuid4().hex[:12], "do": do, "of": of, "state": "waiting", "said": [],
                "error": None, "result": None, "arguments": arguments,
            }  # fmt: skip
            self._begun[work["id"]] = _Begun(job, work)
            job.keep(f"works/{work['id']}.json", _told(work))
            job.changed_kept("works.json", [], lambda ids: [*ids, work["id"]][-_SHOWN:])
            self.settle()
            return _told(work)

    def _running(self, job: JobFolder, do: str, of: str) -> dict[str, Any] | None:
        """That work of a job, if it is not done yet."""
        for begun in self._begun.values():
            work = begun.work
            if begun.job.path == job.path and (work["do"], work["of"]) == (do, of):
                return _told(work)
        return None

    def settle(self) -> None:
        """See what ended, and start what waits while there is room."""
        with self._lock:
            for begun in self._begun.values():
                if begun.process is not None:
                    self._follow(begun)
            running = sum(each.process is not None for each in self._begun.values())
            for begun in self._begun.values():
                if running < AT_ONCE and begun.process is None and begun.work["state"] == "waiting":
                    begun.process = self._process(run, begun.job.path, begun.work)
                    begun.process.start()
                    begun.work["state"] = "running"
                    running += 1
            self._begun = {k: each for k, each in self._begun.items()
                           if each.work["state"] in RUNNING}  # fmt: skip

    def _follow(self, begun: _Begun) -> None:
        alive = begun.process.is_alive()  # before the file is read: its last word counts
        told = begun.job.kept(f"works/{begun.work['id']}.json", {})
        state = told.get("state", "running")
        if not alive:
            if state in RUNNING:
                told = _told(begun.work) | told | {"state": "lost"}
                begun.job.keep(f"works/{begun.work['id']}.json", told)
                state = "lost"
            begun.process = None
            if state == "done" and begun.work["do"] == "camera":
                name_newest(begun.job, "camera")
        begun.work["state"] = "running" if alive else state

    def of_job(self, job: JobFolder) -> list[dict[str, Any]]:
        """The newest works of a job, as they stand."""
        self.settle()
        found = []
        for ident in job.kept("works.json", []):
            work = job.kept(f"works/{ident}.json")
            if isinstance(work, dict):
                found.append(self._true(job, work))
        return found

    def one(self, job: JobFolder, ident: str) -> dict[str, Any]:
        """One work of a job; refuses what isn't there."""
        found = next((work for work in self.of_job(job) if work["id"] == ident), None)
        if found is None:
            raise ScribeError(
                "page-no-work",
                what="there is no such work",
                where=job.id,
                do="load the page again",
            )
        return found

    def stop(self, job: JobFolder, ident: str) -> dict[str, Any]:
        """End it; what was there before stays as it was."""
        with self._lock:
            work = self.one(job, ident)
            begun = self._begun.get(ident)
            if begun is None:
                return work
            if begun.process is not None:
                ended(begun.process)
            work = self.one(job, ident)
            if work["state"] in (*RUNNING, "lost"):
                work["state"] = "stopped"
                job.keep(f"works/{ident}.json", work)
            self._begun.pop(ident, None)
            self.settle()
            return work

    def _true(self, job: JobFolder, work: dict[str, Any]) -> dict[str, Any]:
        if work["state"] in RUNNING and work["id"] not in self._begun:
            work["state"] = "lost"
            job.keep(f"works/{work['id']}.json", work)
        return work


def ended(process: Any) -> None:
    """End a worker with the processes it began; one that has ended already is left at that."""
    for force in (False, True):
        if process.is_alive():
            _signalled(process, force=force)
            process.join(2.0)
    process.join(0.1)


def _signalled(process: Any, *, force: bool) -> None:
    if sys.platform != "win32":
        try:  # a worker leads a group of its own, with what it began
            os.killpg(process.pid, signal.SIGKILL if force else signal.SIGTERM)
        except ProcessLookupError:  # not yet
            pass
        else:
            return
    process.kill() if force else process.terminate()


def _told(work: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in work.items() if key != "arguments"}


def _nothing() -> None:
    """What the first process does: its being started loads the libraries."""
