"""docs/errors.md and the refusals in the code are the same list, and each has its test.

A kind is a string literal, at the raise or where it's handed to a function that passes its
own parameter `kind` on to ScribeError.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator

from tests.rules.source import CHECKOUT, Module, modules, table, tracked

DOCUMENT = CHECKOUT / "docs/errors.md"
KIND = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")


def name_called(call: ast.Call) -> str:
    """The last part of the name of what is called."""
    return getattr(call.func, "attr", getattr(call.func, "id", ""))


def kind_given(call: ast.Call) -> ast.expr | None:
    """The argument of a call that holds the kind."""
    named = (each.value for each in call.keywords if each.arg == "kind")
    return call.args[0] if call.args else next(named, None)


def calls(tree: ast.AST) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def forwarders(package: Iterable[Module]) -> set[str]:
    """Names of the functions that pass their parameter `kind` on to ScribeError."""
    return {
        function.name
        for module in package
        for function in ast.walk(module.tree)
        if isinstance(function, ast.FunctionDef)
        for call in calls(function)
        if name_called(call) == "ScribeError"
        and isinstance(given := kind_given(call), ast.Name)
        and given.id == "kind"
        and any(each.arg == "kind" for each in function.args.args)
    }


def raised(package: Iterable[Module]) -> dict[str, str]:
    """Every kind in the modules with the place where it's written."""
    found: dict[str, str] = {}
    passing_on = forwarders(package)
    for module in package:
        for call in calls(module.tree):
            name, given = name_called(call), kind_given(call)
            place = f"{module.name}:{call.lineno}"
            if isinstance(given, ast.Constant) and isinstance(given.value, str):
                if name == "ScribeError" or (name in passing_on and KIND.fullmatch(given.value)):
                    assert KIND.fullmatch(given.value), f"{place}: {given.value} isn't kebab-case"
                    found[given.value] = place
            elif name == "ScribeError":
                passed_on = getattr(given, "id", getattr(given, "attr", None)) == "kind"
                assert passed_on, f"{place}: the kind isn't a literal"
    return found


def test_every_refusal_has_a_row_and_every_row_a_refusal() -> None:
    rows = [row[0].strip("`") for row in table(DOCUMENT, "kind")]
    in_code = raised(modules())
    assert {kind: place for kind, place in in_code.items() if kind not in rows} == {}
    assert [kind for kind in rows if kind not in in_code] == []
    assert len(rows) == len(set(rows)), "a kind has two rows"


def test_the_rows_are_whole() -> None:
    for row in table(DOCUMENT, "kind"):
        assert len(row) == 3, row
        assert all(row), row


def test_every_refusal_is_triggered_by_a_test() -> None:
    tests = "\n".join(
        path.read_text("utf-8")
        for path in tracked()
        if path.suffix == ".py" and "tests" in path.parts and path.name.startswith("test_")
    )
    untested = {
        kind: place for kind, place in raised(modules()).items() if f'"{kind}"' not in tests
    }
    assert untested == {}


def test_kinds_are_found_at_the_raise_and_where_they_are_passed_on() -> None:
    source = """
def refuse(kind, what):
    return ScribeError(kind, what=what, where="", do="")

def f():
    raise refuse("one-kind", "")
    raise ScribeError("other-kind", what="", where="", do="")
"""
    found = raised([Module("scribe.x", CHECKOUT, ast.parse(source))])
    assert set(found) == {"one-kind", "other-kind"}
