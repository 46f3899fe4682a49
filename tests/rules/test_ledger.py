"""Every file that was brought in has a row that says where it came from."""

from __future__ import annotations

import fnmatch

from tests.rules.source import CHECKOUT, table, tracked

LEDGER = CHECKOUT / "fixtures/README.md"


def test_every_fixture_and_demo_file_has_a_row() -> None:
    rows = table(LEDGER, "file")
    patterns = [row[0].strip("`") for row in rows]
    held = [
        path.relative_to(CHECKOUT).as_posix()
        for path in tracked()
        if path != LEDGER
        and (path.is_relative_to(CHECKOUT / "fixtures") or "demo_data" in path.parts)
    ]
    assert [name for name in held if not any(fnmatch.fnmatch(name, p) for p in patterns)] == []
    assert [p for p in patterns if not fnmatch.filter(held, p)] == [], "a row without a file"


def test_the_rows_are_whole() -> None:
    for row in table(LEDGER, "file"):
        assert len(row) == 4, row
        assert all(row), row
