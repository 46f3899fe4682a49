"""The examples of docs/readings.md are read as they stand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scribe.recipes.read import read
from scribe.source import ReadSource
from tests.rules.source import CHECKOUT

TEXT = (CHECKOUT / "docs/readings.md").read_text("utf-8")
EXAMPLES = re.findall(r"\*\*`(\w+)`\*\*.*?```csv\n(.*?)```", TEXT, re.DOTALL)


@pytest.mark.parametrize(("form", "table"), EXAMPLES, ids=[form for form, _ in EXAMPLES])
def test_an_example_is_read(form: str, table: str, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(table, "utf-8")
    base = 500.0 if form == "tapes" else None
    outline = read(ReadSource(path, form, "above", base=base))
    assert len(outline) > 10


def test_every_form_has_its_example() -> None:
    assert [form for form, _ in EXAMPLES] == ["offsets", "feelers", "level", "tapes"]
