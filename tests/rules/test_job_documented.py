"""Every key that a job file or a list of tools may have is explained."""

from __future__ import annotations

import ast
import re

import pytest

from tests.rules.source import CHECKOUT, modules

TEXT = (CHECKOUT / "docs/job-file.md").read_text("utf-8")


def keys(name: str) -> set[str]:
    """The words handed to `allow`, and those of the tuples that end in _KEYS or _PLACES."""
    tree = next(module.tree for module in modules() if module.name == name)
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "allow":
            found |= {each.value for each in node.args if isinstance(each, ast.Constant)}
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Tuple):
            target = node.targets[0]
            if isinstance(target, ast.Name) and target.id.endswith(("_KEYS", "_PLACES")):
                found |= {e.value for e in node.value.elts if isinstance(e, ast.Constant)}
    return found


@pytest.mark.parametrize(
    "name",
    [
        "scribe.job_file",
        "scribe.job_outline",
        "scribe.job_piece",
        "scribe.job_hole",
        "scribe.tool_file",
    ],
)
def test_every_key_is_explained(name: str) -> None:
    words = set(re.findall(r"[\w]+", TEXT))
    assert keys(name)
    assert keys(name) <= words
