"""No path of one machine in any tracked file."""

from __future__ import annotations

import re

from tests.rules.source import CHECKOUT, tracked

# The names stand apart from their slashes, so that this file doesn't hold what it looks for.
FOLDERS = ("tmp", "work", "home", "root", "Users", "mnt")
# After a letter, a dot or a brace it's the middle of a relative path or an address.
MACHINE_PATH = re.compile(rf"(?<![\w.}}])/(?:{'|'.join(FOLDERS)})/")
TEXT = {".py", ".md", ".toml", ".html", ".j2", ".txt", ".svg", ".csv", ".json", ".cfg", ""}


def test_tracked_files_hold_no_machine_path() -> None:
    found = [
        f"{path.relative_to(CHECKOUT)}:{number}"
        for path in tracked()
        if path.suffix in TEXT
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if MACHINE_PATH.search(line)
    ]
    assert found == []


def test_a_machine_path_is_noticed() -> None:
    assert MACHINE_PATH.search("open('/" + "home/x')")
    assert not MACHINE_PATH.search("scribe-demo/work/x")


def test_only_conftest_knows_where_the_photo_folder_is() -> None:
    folder = "shared" + "/photos"
    holders = {
        path.relative_to(CHECKOUT).as_posix()
        for path in tracked()
        if path.suffix in TEXT and folder in path.read_text("utf-8")
    }
    assert holders <= {"tests/conftest.py"}
