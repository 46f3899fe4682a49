"""Changes to job.toml, place by place, so that two browsers on one job keep both their work.

A change says where (`at`: keys and places in lists) and what stands there from now on (`to`,
None takes it away). It was made while looking at some version: where the job has moved on
meanwhile, only a place that both changed is a conflict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scribe.errors import ScribeError
from scribe.web.job_folder import JobFolder, parsed
from scribe.web.refusals import malformed

At = tuple[str | int, ...]
_TABLES = ("outline", "print")
_LISTS = ("piece", "edge", "tape")
_MOST = 40
_DEEPEST = 6


@dataclass(frozen=True)
class Change:
    """at: the place. to: plain values, None to take it away."""

    at: At
    to: Any


class ConflictError(Exception):
    """places: what was changed on both sides, as the page shows it."""

    def __init__(self, places: list[dict[str, Any]]) -> None:
        super().__init__("changed on both sides")
        self.places = places


def changes_of(body: Any) -> list[Change]:
    """What a browser sent, checked."""
    given = body.get("changes") if isinstance(body, dict) else None
    if not isinstance(given, list) or not 0 < len(given) <= _MOST:
        raise malformed("changes")
    return [_change(each) for each in given]


def _change(each: Any) -> Change:
    at = each.get("at") if isinstance(each, dict) and "to" in each else None
    if not isinstance(at, list) or not 0 < len(at) <= _DEEPEST:
        raise malformed("at")
    for key in at:
        number = isinstance(key, int) and not isinstance(key, bool) and 0 <= key < 100
        word = isinstance(key, str) and 0 < len(key) <= 60 and key.isprintable()
        if not number and not word:
            raise malformed("at")
    return Change(tuple(at), each["to"])


def apply(job: JobFolder, changes: Sequence[Change], version: str) -> bool:
    """Make the changes; True where the job had moved on and both sides were kept."""
    import tomlkit

    with job.lock:
        merged = version != job.version
        if merged:
            _refuse_conflicts(job, changes, version)
        document = tomlkit.parse(job.content().decode("utf-8"))
        for change in changes:
            _put(document, change)
        job.write(_still_a_job(document, job))
    return merged


def _still_a_job(document: Any, job: JobFolder) -> str:
    """The text of a changed document; refuses one that no screen could show."""
    import tomlkit

    try:
        text = tomlkit.dumps(document)
        parsed(text.encode("utf-8"), job.toml)
    except (ScribeError, TypeError, ValueError) as error:
        raise malformed("to") from error
    return text


def _refuse_conflicts(job: JobFolder, changes: Sequence[Change], version: str) -> None:
    before, now = job.old(version), job.table()
    places = []
    for change in changes:
        theirs = value_at(now, change.at)
        same = before is not None and value_at(before, change.at) == theirs
        if not same and theirs != change.to:
            places.append({"at": list(change.at), "yours": change.to, "theirs": theirs})
    if places:
        raise ConflictError(places)


def value_at(table: Any, at: At) -> Any:
    """What stands at a place, None where nothing does."""
    for key in at:
        try:
            table = table[key]
        except (KeyError, IndexError, TypeError):
            return None
    return table


def _put(document: Any, change: Change) -> None:
    parent = document
    for key, after in zip(change.at[:-1], change.at[1:], strict=True):
        if isinstance(key, str) and key not in parent:
            if change.to is None:
                return
            _begin(parent, key, after)
        parent = _child(parent, key)
    last = change.at[-1]
    if change.to is None:
        _take(parent, last)
    elif isinstance(last, int) and isinstance(parent, list) and last == len(parent):
        parent.append(_item(change.at, change.to))
    elif isinstance(last, int):
        _child(parent, last)
        parent[last] = _item(change.at, change.to)
    elif isinstance(parent, dict):
        parent[last] = _item(change.at, change.to)
    else:
        raise malformed("at")


def _item(at: At, to: Any) -> Any:
    """Tables of the job are written as [[piece]] and [outline.wall], not in one line."""
    import tomlkit

    if not isinstance(to, dict) or at[-1] == "blank":
        return to
    table = tomlkit.table()
    for key, value in to.items():
        if key in _LISTS and isinstance(value, list):
            rows = tomlkit.aot()
            for row in value:
                rows.append(_item((*at, key, 0), row))
            table.append(key, rows)
        elif isinstance(value, dict):
            inline = tomlkit.inline_table()
            inline.update(value)
            table.append(key, inline)
        else:
            table.append(key, value)
    return table


def _begin(parent: Any, key: str, after: str | int) -> None:
    import tomlkit

    parent[key] = tomlkit.aot() if isinstance(after, int) else (
        tomlkit.table(is_super_table=True) if key in _TABLES else tomlkit.table()
    )  # fmt: skip


def _child(parent: Any, key: str | int) -> Any:
    try:
        child = parent[key]
    except (KeyError, IndexError, TypeError) as error:
        raise malformed("at") from error
    if not isinstance(child, dict | list | str | int | float):
        raise malformed("at")
    return child


def _take(parent: Any, key: str | int) -> None:
    try:
        del parent[key]
    except (KeyError, IndexError):
        return
    except TypeError as error:
        raise malformed("at") from error
