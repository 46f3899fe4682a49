"""No option of the command line is left in what the page says."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import scribe
from scribe.web.page_words import RULES, on_the_page

PACKAGE = Path(scribe.__file__).parent
OPTION = r"(^| |\()--[a-z]|with scribe [a-z]"
NOT_HERE = ("web", "commands", "output")


def sentences() -> Iterator[str]:
    """Every text of the nouns, verbs and recipes that names an option or a command; what is filled
    in stands as 7.
    """
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.relative_to(PACKAGE).parts[0] not in NOT_HERE:
            tree = ast.parse(path.read_text("utf-8"))
            nodes = list(ast.walk(tree))
            passed = {id(each.value) for each in nodes if isinstance(each, ast.Expr)}
            passed |= {id(part) for each in nodes if isinstance(each, ast.JoinedStr)
                       for part in each.values}  # fmt: skip
            for node in nodes:
                if id(node) not in passed and re.search(OPTION, words := _words(node)):
                    yield words


def _words(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(_words(part) or "7" for part in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def test_there_is_something_to_say_otherwise() -> None:
    assert len(set(sentences())) > 20


@pytest.mark.parametrize("words", sorted(set(sentences())))
def test_no_option_is_left(words: str) -> None:
    said = on_the_page(words)
    assert "--" not in said
    assert "scribe camera" not in said
    assert "scribe printer" not in said


def test_every_rule_is_still_for_something() -> None:
    waiting = set(sentences())
    for found, said in RULES:
        assert any(found.search(words) for words in waiting), found.pattern
        waiting = {found.sub(said, words) for words in waiting}


SAID = {
    "say which one with --from X,Y --to X,Y, or --near FILE":
        "say which one with Ends or Other edge (at Outline)",
    "give --of line if meant; if not, say where it runs with --from X,Y --to X,Y":
        "choose 'line' at Photos if meant; if not, say where it runs with Ends (at Outline)",
    "Measure this distance with a tape and give it: --tape 1A,2B,LENGTH":
        "Measure this distance with a tape and type it at Photos: from cross 1A to cross 2B",
    "state it with --unit or in the drawing":
        "state it with 'unit' in the job file or in the drawing",
}  # fmt: skip


@pytest.mark.parametrize("words", SAID)
def test_the_place_is_named(words: str) -> None:
    assert on_the_page(words) == SAID[words]
