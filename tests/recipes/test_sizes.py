"""The sizes of the alcove on file: what is written, read back by libraries that didn't write it."""

from __future__ import annotations

import csv
import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest

from scribe.build_plan import BuildPlan
from scribe.fit.opening.carcasses import build
from scribe.fit.opening.obstacles import solids
from scribe.job_file import read_job
from scribe.opening import Opening
from scribe.output.opening.dimensions import width_of
from scribe.output.opening.job_toml import job_toml, photo_folder
from scribe.output.opening.opening_views import elevation, isometric
from scribe.recipes.make import make_job
from scribe.recipes.sizes import JOB, WALL_SHEET, Sized
from scribe.recipes.survey import Surveyed, survey, write_survey
from tests.rules.source import CHECKOUT
from tests.scenes.scene import make_scene, render

ROOM = CHECKOUT / "fixtures/alcove-room/room.toml"


@pytest.fixture(scope="module")
def found() -> Surveyed:
    return survey(ROOM)


@pytest.fixture(scope="module")
def sized(found: Surveyed) -> Sized:
    assert found.sized is not None
    return found.sized


def test_the_wall_sheet_is_one_page_that_says_everything(sized: Sized) -> None:
    document = pypdfium2.PdfDocument(sized.files()[WALL_SHEET])
    assert len(document) == 1
    page = document[0]
    assert (page.get_width(), page.get_height()) == pytest.approx((595.276, 841.89), abs=0.01)
    text = page.get_textpage().get_text_bounded()
    for carcass in sized.built.carcasses:
        assert f"{carcass.width:.0f} x {carcass.height:.0f} x 320" in text
    for strip in sized.built.strips:
        assert f"{strip.length:.0f} x {strip.buy:.0f}" in text
    for word in ("tip over", "Cables and pipes", "vents", "alarms", "load limits", "Local codes"):
        assert word in text


def test_what_is_on_the_elevation_adds_up(sized: Sized) -> None:
    """40.7 + 560 + 560 + 40.7 are, but for rounding to 0.1, the room where strips are narrowest."""
    svg = elevation(sized.room, sized.built)
    first = sized.built.carcasses[0]
    levels = [first.foot + k * first.height / 20 for k in range(21)]
    left = max(sized.room.wall_x("left", y, 0.0) for y in levels)
    right = min(sized.room.wall_x("right", y, 0.0) for y in levels)
    shown = [float(t) for t in re.findall(r">([\d.]+)</text>", svg)]
    assert sum(shown[:4]) == pytest.approx(right - left, abs=0.6)


@pytest.mark.parametrize("view", ["elevation", "isometric"])
def test_no_words_lie_over_each_other(sized: Sized, view: str) -> None:
    draw = elevation if view == "elevation" else isometric
    svg = draw(sized.room, sized.built)
    boxes = []
    for text in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text"):
        x, y, size = (float(text.get(key, "0")) for key in ("x", "y", "font-size"))
        half = 0.9 * width_of(text.text or "", size) / 2
        turned = text.get("transform") is not None
        across, along = (size, half) if turned else (half, size)
        ends = (x, y + half) if turned else (x + half, y)
        boxes.append((x - across, y - along, *ends))
    assert len(boxes) >= 3
    for one, other in combinations(boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (one, other)


def test_obstacles_and_skirting_stand_where_they_were_noted(found: Surveyed) -> None:
    socket, left, behind = solids(found.survey, found.opening)
    back = found.opening.back_z(850.0, 340.0)
    assert socket.low[2] == pytest.approx(back - 10.0, abs=8.0)  # its U and the wall's slant
    assert socket.low[0] < 780.0 < 926.0 < socket.high[0]
    # 18 and 145 mm, both with a U of some mm, from the wall and floor at their worst
    wall = max(found.opening.wall_x("left", y, z) for y in (0.0, 145.0) for z in (0.0, 345.0))
    sides = {"left": left, "back": behind}
    assert found.survey.mouldings[0].walls in (("left", "back"), ("back", "left"))
    if found.survey.mouldings[0].walls[0] == "back":
        sides = {"left": behind, "back": left}
    assert 18.0 <= sides["left"].high[0] - wall <= 24.0
    assert 18.0 <= found.opening.back_z(0.0, 0.0) - sides["back"].low[2] <= 40.0


def test_the_job_waits_for_photos_only(found: Surveyed, tmp_path: Path) -> None:
    written = write_survey(found, tmp_path / "out")
    assert {WALL_SHEET, JOB, "survey.html"} <= {path.name for path in written}
    text = (tmp_path / "out" / JOB).read_text()
    for folder in re.findall(r'photo = "(.+)/\*"', text):
        (tmp_path / "out" / folder).mkdir()
        (tmp_path / "out" / folder / "a.jpg").touch()
    job = read_job(tmp_path / "out" / JOB)
    assert [piece.name for piece in job.pieces] == [
        "left strip", "right strip", "top strip", "plinth",
    ]  # fmt: skip


def test_another_program_gets_every_size(found: Surveyed) -> None:
    content = found.summary()["sizes"]
    assert [each["name"] for each in content["carcasses"]] == ["carcass 1", "carcass 2"]
    assert all(each["widest"]["u95_mm"] > 0.0 for each in content["strips"])


def test_a_photo_put_in_its_folder_is_all_that_make_needs(tmp_path: Path) -> None:
    """A niche under a rough ceiling, drawn on a card: its one photo is made by the scene maker, and
    the written job is run as it is. Square and level, the least-squares line of what was
    traced lies where the survey has the ceiling: the strip's mean width is the start's, less the
    clearance, to U of the survey.
    """
    room = Opening.square(250.0, 400.0, 200.0, name="niche")
    plan = BuildPlan(bays=(None,), depth=150.0, faces=(("top", 40.0),), unseen=12.0)
    (size,) = build(room, plan).strips
    (tmp_path / JOB).write_text(job_toml(room.name, plan, [size]))
    (tmp_path / photo_folder(size)).mkdir()
    scene = make_scene("line", 41, megapixels=3, shape="smooth", height=0.0, tilt_deg=12.0)
    (tmp_path / photo_folder(size) / "one.jpg").write_bytes(render(scene))
    made = make_job(tmp_path / JOB, tmp_path / "made")
    (piece,) = made.pieces
    assert piece.name == "top strip"
    with (tmp_path / "made/top strip-remove.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    seen = [row for row in rows if float(row["station_mm"]) <= np.ptp(scene.truth[:, 0])]
    left = np.array([float(row["width_left_mm"]) for row in seen])
    assert abs(left.mean() - (size.start.value - plan.clearance)) <= 2.0
    assert min(float(row["u95_mm"]) for row in rows) >= size.start.U
