"""Table: one table of a TOML file, which knows its lines.

In: a key, and what may stand there. Out: the typed value, or a refusal that names file, line, key
and what is allowed.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from scribe.errors import ScribeError
from scribe.quantity import parse_length, parse_scale

Spot = tuple[str | int, ...]
Choice = TypeVar("Choice", bound=str)


@dataclass(frozen=True)
class Table:
    """One table of a TOML file. spot: its keys and positions from the top of the file."""

    path: Path
    values: dict[str, Any]
    lines: dict[Spot, int]
    spot: Spot = ()

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def where(self, key: str | None = None) -> str:
        """File, line and key, for a refusal."""
        spot = self.spot if key is None else (*self.spot, key)
        known = next((spot[:n] for n in range(len(spot), 0, -1) if spot[:n] in self.lines), ())
        line = f", line {self.lines[known]}" if known else ""
        return f"{self.path}{line}" + (f", key {key}" if key else "")

    def refuse(self, kind: str, key: str | None, what: str, do: str) -> ScribeError:
        """A refusal about one key of this table."""
        return ScribeError(kind, what=what, where=self.where(key), do=do)

    def allow(self, *allowed: str) -> None:
        """Refuse a key that is not among those allowed, with the nearest one that is."""
        for key in self.values:
            if key not in allowed:
                close = difflib.get_close_matches(key, allowed, 1)
                hint = f"did you mean {close[0]}? " if close else ""
                raise ScribeError(
                    "job-key",
                    what=f"{key} is not a key that belongs here",
                    where=self.where(key),
                    do=f"{hint}Allowed are {', '.join(allowed)}".strip(),
                )

    def need(self, key: str, do: str) -> None:
        """Refuse the table when it lacks a key; do says what to write."""
        if key not in self.values:
            raise self.refuse("job-key", None, f"the key {key} is missing", do)

    def wrong(self, key: str, allowed: str) -> ScribeError:
        """The refusal of a value of the wrong type or out of range."""
        shown = _shown(self.values[key])
        return self.refuse("job-value", key, f"{shown} can't be used here", f"give {allowed}")

    def text(self, key: str) -> str:
        """A text that is not empty."""
        value = self.values[key]
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(key, 'a text in quotes, such as "left"')
        return value

    def choice(self, key: str, allowed: Sequence[Choice]) -> Choice:
        """One of the words allowed."""
        value = self.values[key]
        for word in allowed:
            if word == value:
                return word
        close = difflib.get_close_matches(str(value), allowed, 1)
        hint = f"{close[0]!r}? Allowed are" if close else "one of"
        raise self.wrong(key, f"{hint} {', '.join(allowed)}")

    def choices(self, key: str, allowed: Sequence[Choice]) -> tuple[Choice, Choice]:
        """Two of the words allowed."""
        value = self.values[key]
        if isinstance(value, list) and len(value) == 2:
            found = [word for each in value for word in allowed if word == each]
            if len(found) == 2:
                return found[0], found[1]
        raise self.wrong(key, f"two of {', '.join(allowed)}, in brackets")

    def flag(self, key: str) -> bool:
        """true or false."""
        value = self.values[key]
        if not isinstance(value, bool):
            raise self.wrong(key, "true or false, without quotes")
        return value

    def length(self, key: str, *, negative: bool = False, zero: bool = True) -> float:
        """A length in mm, from a number or from a text with a unit."""
        return self._length(key, self.values[key], negative=negative, zero=zero)

    def number(self, key: str, above: float, most: float) -> float:
        """A plain number above the one and at most the other."""
        return self._number(key, self.values[key], above, most)

    def numbers(self, key: str, above: float, most: float) -> tuple[float, float]:
        """[low, high], both above the one and at most the other."""
        value = self.values[key]
        if not isinstance(value, list) or len(value) != 2:
            raise self.wrong(key, "two numbers, as [8, 11]")
        first, second = (self._number(key, each, above, most) for each in value)
        return first, second

    def point(self, key: str) -> tuple[float, float]:
        """[x, y]."""
        return self._point(key, self.values[key])

    def points(self, key: str) -> list[tuple[float, float]]:
        """[[x, y], ...]."""
        if not isinstance(self.values[key], list):
            raise self.wrong(key, "a list of points, such as [[0, 0], [600, 0], [600, 300]]")
        return [self._point(key, value) for value in self.values[key]]

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts that are not empty."""
        value = self.values[key]
        if not isinstance(value, list) or not all(isinstance(t, str) and t.strip() for t in value):
            raise self.wrong(key, 'a list of texts, such as ["wall", "skirting"]')
        return tuple(value)

    def lengths(self, key: str, count: int) -> tuple[float, ...]:
        """That many lengths in mm, each of more than nothing."""
        value = self.values[key]
        if not isinstance(value, list) or len(value) != count:
            raise self.wrong(key, f"{count} lengths in mm, as [600, 800, 1000]")
        return tuple(self._length(key, part, negative=False, zero=False) for part in value)

    def scale(self, key: str) -> tuple[float, float]:
        """Printed over true size along x and y: 0.997, [0.997, 1.002] or "99.7 %"."""
        value = self.values[key]
        typed = ",".join(map(str, value)) if isinstance(value, list) else value
        if isinstance(typed, bool) or not isinstance(typed, str | int | float):
            raise self.wrong(key, "a scale such as 0.997, or [0.997, 1.002] for x and y")
        try:
            return parse_scale(typed, where=self.where(key))
        except ScribeError as error:
            raise self.refuse("job-value", key, error.what, error.do) from error

    def file(self, key: str) -> Path:
        """A file that is there; its name is relative to the folder of this one."""
        return self._file(key, self.text(key))

    def files(self, key: str) -> tuple[Path, ...]:
        """One file or a list of files; "wall/*" stands for all of that folder, in order."""
        value = self.values[key]
        names = value if isinstance(value, list) else [value]
        if not names or not all(isinstance(name, str) and name.strip() for name in names):
            raise self.wrong(key, "a file's name in quotes, or a list of them")
        return tuple(path for name in names for path in self._matching(key, name))

    def table(self, key: str) -> Table:
        """A table inside this one."""
        value = self.values[key]
        if not isinstance(value, dict):
            raise self.wrong(key, f"a table: [{key}] on a line of its own, or {{ ... }}")
        return Table(self.path, value, self.lines, (*self.spot, key))

    def tables(self, key: str) -> list[Table]:
        """The list of tables of that name, in the order of the file."""
        value = self.values[key]
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            raise self.wrong(key, f"tables: [[{key}]] on a line of its own for each")
        return [
            Table(self.path, row, self.lines, (*self.spot, key, number))
            for number, row in enumerate(value)
        ]

    def _number(self, key: str, value: object, above: float, most: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(key, "a number without a unit")
        if not above < value <= most:
            raise self.wrong(key, f"a number above {above:g}, and {most:g} at most")
        return float(value)

    def _length(self, key: str, value: object, *, negative: bool, zero: bool) -> float:
        try:
            return parse_length(  # it refuses what is neither a text nor a number
                value,  # type: ignore[arg-type]
                where=self.where(key),
                negative=negative,
                zero=zero,
            )
        except ScribeError as error:
            raise self.refuse("job-value", key, error.what, error.do) from error

    def _point(self, key: str, value: object) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise self.wrong(key, "a point as [x, y] in mm")
        x, y = (self._length(key, part, negative=True, zero=True) for part in value)
        return x, y

    def _matching(self, key: str, name: str) -> list[Path]:
        if not name.endswith("/*"):
            return [self._file(key, name)]
        folder = self.path.parent / name.removesuffix("/*")
        found = sorted(folder.glob("[!.]*")) if folder.is_dir() else []
        if not found:
            raise self.refuse(
                "job-file-missing",
                key,
                f"there is nothing in the folder {name.removesuffix('/*')}",
                f"put the photos there; it belongs beside {self.path.name}",
            )
        return found

    def _file(self, key: str, name: str) -> Path:
        path = self.path.parent / name
        if not path.is_file():
            raise self.refuse(
                "job-file-missing",
                key,
                f"there is no file {name}",
                f"put it beside {self.path.name}, or correct the name "
                "(it counts from the folder of the job file)",
            )
        return path


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return repr(value).lower() if isinstance(value, bool) else repr(value)
