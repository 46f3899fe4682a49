"""No sentence outside the commands names an option, and every placeholder has its three words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache

import pytest

from scribe.places import COMMAND, CUT, JOB, PAGE, PLACEHOLDER, said
from tests.rules.source import CHECKOUT, Module, modules

OPTION = re.compile(r"(?:^|[\s/]|(?<!var)\()(?:--[a-z]|-o\b)")
COMMAND_NAMED = re.compile(r"with scribe [a-z]+")
# Where an option may stand: where it is parsed, and where its words are kept.
APART = ("scribe.commands.", "scribe.places")
# What looks like a placeholder: names of routes.
NONE = ("scribe.web.app",)


def texts(module: Module) -> Iterator[str]:
    """Every text of a module but its docstrings; what an f-string fills in stands as 7."""
    nodes = list(ast.walk(module.tree))
    passed = {id(each.value) for each in nodes if isinstance(each, ast.Expr)}
    passed |= {id(part) for each in nodes if isinstance(each, ast.JoinedStr)
               for part in each.values}  # fmt: skip
    yield from (words for node in nodes if id(node) not in passed and (words := text(node)))


def text(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(text(part) or "7" for part in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


@cache
def sentences() -> dict[str, list[str]]:
    """The texts of every module that says something to whoever reads it anywhere."""
    return {each.name: list(texts(each)) for each in modules() if not each.name.startswith(APART)}


def test_no_sentence_outside_the_commands_names_an_option() -> None:
    """A comment in a file that is written may: it stands beside what it speaks of."""
    named = {(name, words) for name, each in sentences().items() for words in each
             if (OPTION.search(words) or COMMAND_NAMED.search(words))
             and not words.startswith("#")}  # fmt: skip
    assert named == set()


def test_every_placeholder_is_known_and_each_is_used() -> None:
    used = {found[1]: name for name, each in sentences().items() if name not in NONE
            for words in each for found in PLACEHOLDER.finditer(words)}  # fmt: skip
    assert {name: where for name, where in used.items() if name not in COMMAND} == {}
    assert [name for name in COMMAND if name not in used] == []


@pytest.mark.parametrize("words", [COMMAND, JOB, PAGE, CUT])
def test_a_front_end_fills_every_placeholder(words: dict[str, str]) -> None:
    """What is handed on to a word is taken by it, in every vocabulary alike."""
    assert words.keys() == COMMAND.keys()
    for each in (sentence for found in sentences().values() for sentence in found):
        if any(found[1] in COMMAND for found in PLACEHOLDER.finditer(each)):
            told = said(each, words)
            assert not any(found[1] in COMMAND for found in PLACEHOLDER.finditer(told))
            assert len(told.strip()) > 20


def test_the_page_and_a_job_file_name_no_option() -> None:
    """But where only somebody at the command line is told."""
    same = {name for name in COMMAND if COMMAND[name] == JOB[name]}
    assert [name for name in same ^ JOB.keys() if OPTION.search(JOB[name])] == []
    told = {name for name in PAGE if OPTION.search(PAGE[name]) or COMMAND_NAMED.search(PAGE[name])}
    assert told == {"card", "lan", "port", "folder"}


def test_an_option_and_an_unknown_placeholder_are_noticed() -> None:
    source = """
def f():
    "Gives --height."
    raise ScribeError("a-kind", what="w", where="x", do="correct --height, or {hieght}")
    return f"tape it: {{tape:{a}A,{b}B}}", "fill='var(--soft)'"
"""
    found = list(texts(Module("scribe.x", CHECKOUT, ast.parse(source))))
    assert [words for words in found if OPTION.search(words)] == ["correct --height, or {hieght}"]
    assert {each[1] for words in found for each in PLACEHOLDER.finditer(words)} == {
        "hieght",
        "tape",
    }
