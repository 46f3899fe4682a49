"""Every import in the package is one that the table allows."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator

import pytest

from tests.rules.import_table import ROWS, Row, markdown
from tests.rules.source import CHECKOUT, Module, modules


def row_of(name: str) -> Row | None:
    """The row a dotted name (without `scribe.`) belongs to."""
    head = name.split(".", maxsplit=1)[0]
    return next((row for row in ROWS if head in row.modules), None)


def imports(module: Module) -> Iterator[tuple[str, bool]]:
    """Every imported name of a module and whether it waits: in a function, or for types alone."""
    inside = {
        id(node)
        for block in ast.walk(module.tree)
        if isinstance(block, ast.FunctionDef)
        or (isinstance(block, ast.If) and ast.unparse(block.test) == "TYPE_CHECKING")
        for node in ast.walk(block)
    }
    known = {each.name for each in modules()}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module.name}: imports are absolute"
            base = node.module or ""
            whole = [f"{base}.{alias.name}" for alias in node.names]
            names = [each if each in known else base for each in whole]
        else:
            continue
        yield from ((name, id(node) in inside) for name in names)


def faults(module: Module) -> list[str]:
    """What a module imports and should not."""
    own_name = module.name.removeprefix("scribe").removeprefix(".")
    row = row_of(own_name)
    if own_name == "":
        row = Row("root", ())
    if row is None:
        return [f"{module.name} has no row in the table"]
    return [
        f"{module.name} imports {name}"
        for name, lazy in imports(module)
        if not allowed(own_name, row, name, lazy=lazy)
    ]


def allowed(own_name: str, row: Row, name: str, *, lazy: bool) -> bool:
    """Whether a module of that row may import that name."""
    head = name.split(".", maxsplit=1)[0]
    if head == "scribe":
        inner = name.removeprefix("scribe").removeprefix(".")
        target = row_of(inner)
        if inner == "":
            return True
        if target is None:
            return False
        if target is row:
            return row.own or inner.split(".")[0] == own_name.split(".", maxsplit=1)[0]
        return target.name in row.project or (lazy and target.name in row.lazily)
    if head in sys.stdlib_module_names or head in row.outside:
        return True
    places = dict(row.only_in).get(head, ())
    return any(own_name == place or own_name.startswith(f"{place}.") for place in places)


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_a_module_imports_only_what_its_row_allows(module: Module) -> None:
    assert faults(module) == []


@pytest.mark.parametrize(
    "source",
    [
        "import numpy",  # the table allows it, but not in errors
        "from scribe.capture import photo",
        "def f():\n    from scribe.recipes import make",
    ],
)
def test_a_forbidden_import_is_noticed(source: str) -> None:
    module = Module("scribe.errors", CHECKOUT, ast.parse(source))
    assert len(faults(module)) == 1


def test_verbs_meet_only_in_recipes() -> None:
    source = ast.parse("from scribe.fit.room import place")
    assert faults(Module("scribe.output.piece.svg", CHECKOUT, source))
    assert not faults(Module("scribe.recipes.make", CHECKOUT, source))
    assert not faults(Module("scribe.fit.cut", CHECKOUT, source))


def test_a_command_imports_its_recipe_inside_the_function() -> None:
    for source, count in (
        ("from scribe.recipes.make import make", 1),
        ("def f():\n    from scribe.recipes.make import make", 0),
        ("if TYPE_CHECKING:\n    from scribe.recipes.make import make", 0),
    ):
        found = faults(Module("scribe.commands.make", CHECKOUT, ast.parse(source)))
        assert len(found) == count


def test_developers_read_the_same_table() -> None:
    assert markdown() in (CHECKOUT / "DEVELOPERS.md").read_text("utf-8")
