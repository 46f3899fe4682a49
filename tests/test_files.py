"""Files are written beside and moved into place; what is there is not overwritten unasked."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_bytes, write_text, write_together


def test_a_file_is_written_whole_and_nothing_else_stays(tmp_path: Path) -> None:
    path = write_text(tmp_path / "a.csv", "x_mm\n1\n")
    assert path.read_bytes() == b"x_mm\n1\n"
    write_bytes(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_file_has_the_permissions_of_any_other(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.touch()
    written = write_bytes(tmp_path / "written", b"")
    assert stat.S_IMODE(written.stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)


def test_an_interrupted_write_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_bytes(tmp_path / "a.pdf", b"old")
    for fault in (OSError(28, "No space left on device"), KeyboardInterrupt()):

        def fail(*_: object, fault: BaseException = fault) -> None:
            raise fault

        monkeypatch.setattr(Path, "replace", fail)
        with pytest.raises((ScribeError, KeyboardInterrupt)):
            write_bytes(path, b"new")
        assert path.read_bytes() == b"old"
        assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    file = write_bytes(tmp_path / "a", b"")
    for attempt in (lambda: ready_folder(file), lambda: write_bytes(file / "b", b"")):
        with pytest.raises(ScribeError) as refusal:
            attempt()
        assert refusal.value.kind == "output-not-writable"


def test_a_folder_is_made_with_those_above_it(tmp_path: Path) -> None:
    assert ready_folder(tmp_path / "a/b").is_dir()


def test_what_is_there_is_refused_by_name_unless_forced(tmp_path: Path) -> None:
    paths = [write_bytes(tmp_path / name, b"") for name in "abcd"]
    with pytest.raises(ScribeError, match=r"a, .*b, .*c \.\.\.: this is there already") as refusal:
        refuse_existing([*paths, tmp_path / "new"], force=False)
    assert refusal.value.kind == "output-exists"
    refuse_existing(paths, force=True)
    refuse_existing([tmp_path / "new"], force=False)


def test_files_that_belong_together_are_moved_only_when_all_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = {"a.pdf": b"old", "b.csv": b"old"}, {"a.pdf": b"new", "b.csv": b"new"}
    assert write_together(tmp_path, old) == [tmp_path / "a.pdf", tmp_path / "b.csv"]
    written = 0

    def full(path: Path, content: bytes) -> Path:
        nonlocal written
        written += 1
        if written == 2:
            raise OSError(28, "No space left on device")
        return write_bytes(path, content)

    monkeypatch.setattr("scribe.files.write_bytes", full)
    with pytest.raises(ScribeError) as refusal:
        write_together(tmp_path, new)
    assert refusal.value.kind == "output-not-writable"
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == old
    monkeypatch.undo()
    write_together(tmp_path, new)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == new


def test_a_folder_in_the_way_of_one_file_leaves_the_others_as_they_were(tmp_path: Path) -> None:
    (tmp_path / "b.csv").mkdir()
    with pytest.raises(ScribeError, match=r"b\.csv"):
        write_together(tmp_path, {"a.pdf": b"new", "b.csv": b"new"})
    assert [path.name for path in tmp_path.iterdir()] == ["b.csv"]
