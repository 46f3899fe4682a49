"""What a check says is to be done can be done at a check."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import scribe
from scribe.commands.check import command
from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.places import COMMAND, PLACEHOLDER, said
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.fitted import fitted_piece
from tests.recipes.cut_strip import strip_job


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return strip_job(tmp_path)


# What a check of a photo never comes to: other input than photos of an edge, a card nobody asked
# for, and ends that nobody gave.
ELSEWHERE = ("capture/numbers/", "capture/gauge/", "recipes/scale.py")
NEVER = {("recipes/run.py", "outline-not-found")}


def asking() -> Iterator[tuple[str, str]]:
    """Kinds of tracing's refusals, each with the placeholder of what it asks for."""
    root = Path(scribe.__file__).parent
    recipes = ("height", "look", "seen", "run", "run_height", "scale", "trace")
    paths = [*(root / "capture").rglob("*.py"), *(root / f"recipes/{each}.py" for each in recipes)]
    for path in sorted(paths):
        place = path.relative_to(root).as_posix()
        for call in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(call, ast.Call) or getattr(call.func, "id", "") != "ScribeError":
                continue
            kind = getattr(call.args[0], "value", "") if call.args else ""
            if place.startswith(ELSEWHERE) or (place, kind) in NEVER:
                continue
            do = next(ast.unparse(each.value) for each in call.keywords if each.arg == "do")
            yield from ((kind, found[0]) for found in PLACEHOLDER.finditer(do))


def test_a_check_asks_for_no_option_that_it_lacks(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribe.recipes import trace

    piece = fitted_piece(read_job(job), "strip", lambda _: None)
    monkeypatch.setattr("scribe.recipes.check.fitted_piece", lambda *_: piece)  # the same each time
    has = {name for each in command.params for name in each.opts} | {"--copies"}  # scribe target

    def lacking(words: str) -> set[str]:
        return set(re.findall(r"--[a-z-]+", said(words, COMMAND))) - has

    asked = set(asking())
    assert len([each for _, each in asked if lacking(each)]) > 3
    for kind, each in asked:

        def refused(*_: object, _said: tuple[str, str] = (kind, each), **__: object) -> None:
            raise ScribeError(_said[0], what="w", where="cut.jpg", do=f"give {_said[1]}")

        monkeypatch.setattr(trace, "trace", refused)
        with pytest.raises(ScribeError) as caught:
            check(CheckSource(job, "strip", (tmp_path / "cut.jpg",)))
        assert (caught.value.kind, caught.value.where) == (kind, "cut.jpg")
        assert not lacking(caught.value.do)
