"""The fitter's list of tools, read and refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.tool_file import read_tools
from scribe.tools import Tool

LIST = """
[[tool]]
name = "jigsaw"
work = "saw"
radius = 12
kerf = "1.2 mm"
standoff = 1
least = 2
[[tool]]
name = "block plane"
work = "finish"
most = 2
"""


def refusal(tmp_path: Path, text: str) -> ScribeError:
    path = tmp_path / "tools.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(ScribeError) as caught:
        read_tools(path)
    return caught.value


def test_the_list_is_read_in_its_order(tmp_path: Path) -> None:
    path = tmp_path / "tools.toml"
    path.write_text(LIST, "utf-8")
    assert read_tools(path) == (
        Tool("jigsaw", "saw", radius=12.0, least=2.0, kerf=1.2, standoff=1.0),
        Tool("block plane", "finish", most=2.0),
    )


def test_what_is_wrong_is_named(tmp_path: Path) -> None:
    assert "work = one of saw, finish" in refusal(tmp_path, '[[tool]]\nname = "x"').do
    one = '[[tool]]\nname = "x"\nwork = "saw"\n'
    assert "both needed" in refusal(tmp_path, one).what
    swapped = refusal(tmp_path, LIST + "least = 3\n")
    assert swapped.kind == "job-value"
    assert "more than least" in swapped.what
    assert "line 14" in swapped.where or "most" in swapped.where


def test_a_guided_router_has_a_radius(tmp_path: Path) -> None:
    router = '[[tool]]\nname = "router"\nwork = "finish"\nguided = true\n'
    assert "half of its diameter" in refusal(tmp_path, LIST + router).do
    path = tmp_path / "tools.toml"
    path.write_text(LIST + router + "radius = 6.35\n", "utf-8")
    assert read_tools(path)[-1] == Tool("router", "finish", radius=6.35, guided=True)
