"""The documents keep up with the code: sources, the README's job, links."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scribe.job_file import read_job
from tests.rules.source import CHECKOUT, tracked

REFERENCES = CHECKOUT / "docs/references.md"
SOURCE = re.compile(r"ISO(?:/IEC)? \d[\d-]*\d|JCGM \d+|IEC \d[\d-]*|RFC \d+|EN \d+|doi:10[.]\S+")


def sources(text: str) -> set[str]:
    """The standards and papers that a text names."""
    names = (name.rstrip(".,;:\"'") for name in SOURCE.findall(text))
    # A closing bracket belongs to the name when its opening one does.
    return {name.removesuffix(")") if name.count(")") > name.count("(") else name for name in names}


def test_every_source_named_in_the_code_is_listed() -> None:
    listed = REFERENCES.read_text("utf-8")
    missing = {
        f"{path.relative_to(CHECKOUT)}: {name}"
        for path in tracked()
        if path.suffix == ".py"
        for name in sources(path.read_text("utf-8"))
        if name not in listed
    }
    assert missing == set()


def test_a_source_is_found_whole() -> None:
    text = "(doi:10.1016/0020-" + "0190(79)90072-3). after ISO " + "16610-21, 4.2"
    assert sources(text) == {"doi:10.1016/0020-" + "0190(79)90072-3", "ISO " + "16610-21"}


def test_the_readme_s_job_file_can_be_read(tmp_path: Path) -> None:
    text = (CHECKOUT / "README.md").read_text("utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    (tmp_path / "job.toml").write_text(example)
    (tmp_path / "wall.jpg").touch()
    job = read_job(tmp_path / "job.toml")
    assert [piece.name for piece in job.pieces] == ["left infill"]


@pytest.mark.parametrize(
    "document",
    [path for path in tracked() if path.suffix == ".md"],
    ids=lambda path: path.relative_to(CHECKOUT).as_posix(),
)
def test_links_lead_somewhere(document: Path) -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", document.read_text("utf-8"))
    assert [link for link in links if not (document.parent / link).exists()] == []


@pytest.mark.parametrize(
    "document",
    [path for path in tracked() if path.suffix == ".md"],
    ids=lambda path: path.relative_to(CHECKOUT).as_posix(),
)
def test_files_and_commands_of_the_checkout_are_there(document: Path) -> None:
    """What a document names of our own, but for names in capitals, which stand for any."""
    text = document.read_text("utf-8")
    named = re.findall(r"`((?:scribe|tests|fixtures|docs)/[\w./-]+)`", text)
    for module in re.findall(r"python -m ((?:tests|scribe)[\w.]*)", text):
        path = module.rstrip(".").replace(".", "/")
        folder = (CHECKOUT / path).is_dir()
        named.append(f"{path}/__main__.py" if folder else f"{path}.py")
    missing = [path for path in named if not (CHECKOUT / path).exists()]
    assert [path for path in missing if not re.search(r"\b[A-Z]{2,}\b", path)] == []
