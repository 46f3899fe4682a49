"""The job file a room makes: read back by the reader, and made once outlines stand in."""

from __future__ import annotations

import csv
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from scribe.build_plan import BuildPlan
from scribe.fit.opening.carcasses import build
from scribe.fit.opening.strips import Edge, to_building
from scribe.job import Distance
from scribe.job_file import read_job
from scribe.opening import Opening
from scribe.outline import Outline
from scribe.outline_file import outline_json
from scribe.output.opening.job_toml import job_toml, photo_folder
from scribe.output.piece.table import removal_csv
from scribe.recipes.fitted import fitted_piece
from scribe.sizes import StripSize
from tests.fit.rooms import alcove

PLAN = BuildPlan(
    bays=(None, None),
    depth=560.0,
    faces=(("left", 40.0), ("right", 40.0), ("top", 50.0), ("plinth", 100.0)),
    clearance=0.0,
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    built = build(alcove(), PLAN)
    (tmp_path / "job.toml").write_text(job_toml('The "alcove"', PLAN, built.strips))
    for size in built.strips:
        folder = tmp_path / photo_folder(size)
        folder.mkdir()
        (folder / "1.jpg").touch()
        (folder / "2.jpg").touch()
    return tmp_path / "job.toml"


def test_it_is_read_with_every_strip(job: Path) -> None:
    read = read_job(job)
    assert read.name == 'The "alcove"'
    names = [piece.name for piece in read.pieces]
    assert names == ["left strip", "right strip", "top strip", "plinth"]
    assert [len(each.source.photos) for each in read.outlines.values()] == [2] * 4
    sizes = {size.name: size for size in build(alcove(), PLAN).strips}
    for piece in read.pieces:
        size = sizes[piece.name]
        assert np.ptp(piece.blank.shape.outer, axis=0) == pytest.approx([size.length, size.buy])
        (edge,) = piece.edges
        assert isinstance(edge.placing, Distance)
        assert edge.lean_u >= size.lean.u
        assert 2 * edge.distance_u >= size.start.U


def walked(room: Opening, size: StripSize, turn_deg: float) -> Outline:
    """The building's face along a strip as a photo would show it: the building above, turned by
    some angle that says nothing of what is plumb, shifted anywhere.
    """
    strip = size.strip
    built = build(room, PLAN)
    first, last = built.carcasses[0], built.carcasses[-1]
    right = last.left + last.width
    at, span = {
        "left": (first.left, (0.0, size.length)),
        "right": (right, (room.floor_y(right, 0.0), room.floor_y(right, 0.0) + size.length)),
        "top": (first.foot + first.height, (first.left, right)),
        "plinth": (first.foot, (first.left, right)),
    }[strip]
    places = np.linspace(*span, 120)
    d = to_building(room, Edge(strip, size.name, at, span), places)
    x = places - places[0]
    points = np.column_stack([x, d])
    if strip in ("right", "plinth"):
        points = np.column_stack([x[-1] - x, d])[::-1]
    turn = np.radians(turn_deg)
    rotate = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return Outline(points @ rotate + [31.0, -500.0], np.full(len(points), 0.05), "left")


def test_what_is_made_is_as_wide_as_the_wall_asks(job: Path, tmp_path: Path) -> None:
    """The strips' widths after cutting are the distances from carcass to building, although the
    outlines were turned by 3 degrees: to U, and in fact to 0.2 mm, since the bow of 3 mm hardly
    turns a least-squares line of 120 points more than that of 61.
    """
    room = alcove()
    sizes = {photo_folder(size): size for size in build(room, PLAN).strips}
    text = job.read_text()
    for folder, size in sizes.items():
        (tmp_path / f"{folder}.json").write_text(outline_json(walked(room, size, 3.0)))
        photo = f'photo = "{folder}/*"\nof = "line"\nheight = 0\n'
        assert photo in text
        text = text.replace(photo, f'file = "{folder}.json"\n')
    job.write_text(text)
    asked = read_job(job)
    assert [piece.name for piece in asked.pieces] == [size.name for size in sizes.values()]
    for folder, size in sizes.items():
        piece = fitted_piece(asked, size.name, lambda _: None)
        rows = list(csv.DictReader(StringIO(removal_csv(piece))))
        station = np.array([float(row["station_mm"]) for row in rows])
        left = np.array([float(row["width_left_mm"]) for row in rows])
        U = np.array([float(row["u95_mm"]) for row in rows])
        outline = walked(room, size, 0.0)
        x = outline.points[:, 0] - outline.points[0, 0]
        wanted = np.interp(station, x, outline.points[:, 1] + 500.0)
        assert left == pytest.approx(np.minimum(wanted, size.buy), abs=0.25), folder
        assert (U >= size.unseen - 0.01).all()
