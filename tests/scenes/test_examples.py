"""docs/taking-photos.md repeats what scribe says of its photos, and scribe still says it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.scenes.write_examples import FOLDER, SAID, examples, photo_file, verdict

DOCUMENT = Path(__file__).parents[2] / "docs/taking-photos.md"
LARGEST = 60_000  # bytes


def test_the_document_says_what_was_said() -> None:
    text = DOCUMENT.read_text("utf-8")
    for name, said in json.loads(SAID.read_text("utf-8")).items():
        (row,) = [line for line in text.splitlines() if f"pictures/photo-{name}.webp" in line]
        assert f"**{said['said']}**" in row
        assert said["do"] in row


def test_pictures_are_small() -> None:
    sizes = {path.name: path.stat().st_size for path in FOLDER.glob("*.webp")}
    assert len(sizes) >= 20
    assert [name for name, size in sizes.items() if size > LARGEST] == []


@pytest.mark.slow
def test_scribe_still_says_so() -> None:
    kept = json.loads(SAID.read_text("utf-8"))
    now = {
        name: verdict(photo_file(scene, picture), "line" if name == "good-line" else "gauge")
        for name, scene, picture in examples()
    }
    assert now == kept, "run python -m tests.scenes.write_examples and correct the document"
