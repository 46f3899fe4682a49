"""What a finger set in photos, as the tracer reads it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.recipes.page.outline import course_csv, on_sheet, outline_job
from scribe.recipes.sight import NODES, Sight
from scribe.source import PhotoSource

SIZE = (1001, 501)


def looking_at(x: float, first: int = 0) -> dict[str, object]:
    """The content of a sight: a tenth of a millimetre to a pixel, its left edge at x mm, y up."""
    px, py = np.meshgrid(np.linspace(0, 1000, NODES), np.linspace(0, 500, NODES))
    grid = np.stack([x + 0.1 * px, 50.0 - 0.1 * py], axis=-1)
    return Sight("a.jpg", SIZE, np.empty((0, 2)), grid, first).content()


def test_a_sheet_beside_a_run_is_traced_without_the_runs_tape(tmp_path: Path) -> None:
    for name in "abc":
        (tmp_path / f"{name}.jpg").write_bytes(b"")
    job = tmp_path / "job.toml"
    job.write_text(
        '[outline.wall]\nphoto = ["a.jpg", "b.jpg"]\nof = "line"\n'
        '[outline.stone]\nphoto = ["c.jpg"]\nof = "edge"\n'
        '[[tape]]\noutline = "wall"\nfrom = "1A"\nto = "2B"\nlength = 600\n',
        "utf-8",
    )
    for name, readings in (("wall", 1), ("stone", 0)):
        source = outline_job(job, name).source
        assert isinstance(source, PhotoSource)
        assert len(source.tapes) == readings


def test_every_point_is_read_in_its_own_photo() -> None:
    sights = [looking_at(0.0), looking_at(80.0)]
    points = on_sheet(sights, [[100, 400, 0], [100, 400, 1]])
    assert points == pytest.approx(np.array([[10.0, 10.0], [90.0, 10.0]]))


def test_points_of_several_photos_follow_the_run_however_they_were_set() -> None:
    sights = [looking_at(0.0), looking_at(80.0)]
    course = rows(course_csv(sights, [[700, 300, 1], [100, 400, 0], [500, 400, 0], [100, 400, 1]]))
    assert (np.diff(course[:, 0]) > 0).all()
    assert course[[0, -1]] == pytest.approx(np.array([[10.0, 10.0], [150.0, 20.0]]))
    # A photo is asked about the part of the course in it: from 50 to 90 mm there are points too.
    assert np.diff(course[:, 0]).max() <= 10.0
    assert course[course[:, 0] <= 90.0, 1] == pytest.approx(10.0)


def test_points_of_one_photo_keep_their_order() -> None:
    turned = rows(course_csv([looking_at(0.0)], [[900, 100, 0], [100, 100, 0], [100, 400, 0]]))
    assert turned[[0, -1]] == pytest.approx(np.array([[90.0, 40.0], [10.0, 10.0]]))


def rows(csv: str) -> np.ndarray:
    return np.array([line.split(",") for line in csv.splitlines()[1:]], float)
