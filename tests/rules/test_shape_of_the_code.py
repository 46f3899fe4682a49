"""Modules are short, public functions say what they do, and lint exceptions give a reason."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator

import pytest

from tests.rules.source import CHECKOUT, Module, modules, tracked

LONGEST_MODULE = 400


def public_functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Functions and classes that others may use, and the methods of such classes."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from (
                    method
                    for method in node.body
                    if isinstance(method, ast.FunctionDef) and not method.name.startswith("_")
                )


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_a_module_says_what_it_is_about_and_stays_short(module: Module) -> None:
    source = module.path.read_text("utf-8")
    assert not source.strip() or ast.get_docstring(module.tree), "no docstring"
    assert len(source.splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_public_functions_have_docstrings(module: Module) -> None:
    bare = [node.name for node in public_functions(module.tree) if not ast.get_docstring(node)]
    assert bare == []


def test_every_ignored_rule_carries_its_reason() -> None:
    text = (CHECKOUT / "pyproject.toml").read_text("utf-8")
    settings = tomllib.loads(text)["tool"]["ruff"]["lint"]
    ignored = [*settings["ignore"], *settings["per-file-ignores"]["tests/**"]]
    reasons = [line for line in text.splitlines() if re.search(r'"[A-Z]+\d*",.*#', line)]
    for rule in ignored:
        assert any(f'"{rule}"' in line for line in reasons), f"{rule} is ignored without a reason"


def test_every_exception_in_the_code_carries_its_reason() -> None:
    marks = re.compile(r"#\s*(noqa|type: ignore)(\S*)(.*)")
    for path in tracked():
        if path.suffix != ".py" or path == CHECKOUT / "tests/rules/test_shape_of_the_code.py":
            continue
        for line in path.read_text("utf-8").splitlines():
            found = marks.search(line)
            if found and found[1] == "noqa":
                assert re.match(r":", found[2]), f"{path.name}: {line.strip()}"
