"""Sheets along the edge: nothing left out, joints that can be made, and fewer than the grid."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.job import PrintSettings
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.drawing import CheckDistance, Drawing, Layer, Path, Text, text_corners
from scribe.output.sheets.match_marks import HALF_MM
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheets import SheetPlan
from scribe.output.sheets.vital import WORKING_MM
from scribe.piece import Piece


def drawing_of(*lines: np.ndarray, texts: tuple[Text, ...] = ()) -> Drawing:
    cut = Layer("cut", tuple(Path(line, "cut") for line in lines))
    ticks = tuple(Path(np.array([text.at, text.at]) - [[0, 9], [0, 2]]) for text in texts)
    check = CheckDistance((0, 0), (1, 0), 1.0)
    return Drawing("line", (cut, Layer("stations", ticks, texts)), check)


def sloping(length: float, slope_deg: float, bow: float = 0.0) -> np.ndarray:
    at = np.linspace(0.0, length, int(length / 2) + 2)
    cosine, sine = np.cos(np.radians(slope_deg)), np.sin(np.radians(slope_deg))
    points = np.column_stack([at, bow * np.sin(np.pi * at / length)])
    return points @ np.array([[cosine, sine], [-sine, cosine]])


def held(plan: SheetPlan, points: np.ndarray) -> np.ndarray:
    """(N,) whether some sheet's part that is seen when all lie joined shows the point."""
    areas = []
    for sheet in plan.sheets:
        area = shapely.Polygon(sheet.corners)
        for joint in plan.of(sheet):
            if joint.upper == sheet.number:
                far = 5000.0 * joint.frame.rotation[:, 1]
                along = 5000.0 * joint.along
                a, b = joint.trim[0] - along, joint.trim[1] + along
                area = area.intersection(shapely.Polygon([a, b, b + far, a + far]))
        areas.append(area.buffer(1e-6))
    return np.array([any(area.covers(shapely.Point(p)) for area in areas) for p in points])


@settings(max_examples=25)  # laying out a long line takes a while
@given(
    st.floats(150.0, 1500.0), st.floats(-90.0, 90.0), st.floats(-60.0, 60.0),
    st.sampled_from(["A4", "A3", "Letter"]), st.sampled_from([0.0, 5.0, 10.0, 15.0]),
)  # fmt: skip
def test_every_point_lies_on_a_sheet_and_joints_hold(
    length: float, slope_deg: float, bow: float, paper: str, overlap: float
) -> None:
    line = sloping(length, slope_deg, bow)
    plan = plan_sheets(drawing_of(line), PrintSettings(paper, 10.0, overlap))
    way = np.gradient(line, axis=0)
    out = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
    for side in (-WORKING_MM, 0.0, WORKING_MM):
        assert held(plan, (line + side * out)[::9]).all()
    assert plan.saved >= 0
    assert plan.groups == 1
    for joint in plan.joints:
        length = float(np.hypot(*(joint.trim[1] - joint.trim[0])))
        assert length >= 4 * HALF_MM  # room for two marks
        strip = joint.frame.apply([[0.0, 0.0], [length, 0.0], [0.0, overlap], [length, overlap]])
        lower, upper = plan.sheets[joint.lower - 1], plan.sheets[joint.upper - 1]
        assert lower.shows(strip).all()
        assert upper.shows(strip[:2]).all()
        assert len(joint.marks) == 2
        for mark in joint.marks:
            ends = np.array([[-HALF_MM, 0.0], [HALF_MM, 0.0]])
            for sheet, across in ((upper, -3.5), (lower, 3.5)):  # each has its half
                assert sheet.shows(mark.place(ends)).all()
                assert sheet.shows(mark.place(ends + np.array([0.0, across]))).all()
        one, other = joint.marks
        assert np.hypot(*(one.at - other.at)) > 2 * HALF_MM


@pytest.mark.parametrize("slope_deg", [20.0, 28.0, 45.0, -62.0])
def test_a_slope_is_followed_by_as_few_sheets_as_a_level_line(slope_deg: float) -> None:
    """A4 lying shows 277 mm by 169. With 20 mm at the line's ends, 10 mm shared by two sheets and
    5 mm for their marks, n sheets show n 277 - (n - 1) 15 - 20 mm, less a bin of 6 mm each at most.
    """
    for length, most in ((500.0, 2), (750.0, 3), (1000.0, 4)):
        plan = plan_sheets(drawing_of(sloping(length, slope_deg)), PrintSettings())
        assert len(plan.sheets) == most, length
        assert plan.layout == "along the edge"
        assert plan.saved == plan.grid - most > 0
        assert plan.words == f"{most} sheets, {plan.saved} fewer than a plain grid"


def test_a_level_line_takes_the_grid() -> None:
    """Where nothing is saved all sheets lie the same way."""
    plan = plan_sheets(drawing_of(sloping(900.0, 0.0)), PrintSettings())
    assert plan.layout == "grid"
    assert plan.words == "4 sheets"


def test_lines_far_apart_get_sheets_of_their_own() -> None:
    """Two short lines a metre apart: a sheet each, and no empty ones between."""
    one = sloping(150.0, 60.0)
    plan = plan_sheets(drawing_of(one, one + np.array([1000.0, 700.0])), PrintSettings())
    assert len(plan.sheets) == plan.groups == 2
    assert not plan.joints


@pytest.mark.parametrize("place", range(60, 780, 80))
def test_a_hole_near_the_line_goes_with_it(place: int) -> None:
    """Whole on one sheet, wherever along the line it is, and for no sheet more than without it."""
    line = sloping(840.0, 28.0)
    bare = plan_sheets(drawing_of(line), PrintSettings())
    turn = np.linspace(0.0, 2.0 * np.pi, 40)
    hole = sloping(840.0, 28.0)[place // 2] + [30.0, -50.0]
    ring = hole + 16.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    plan = plan_sheets(drawing_of(line, ring), PrintSettings())
    assert (len(plan.sheets), plan.groups) == (len(bare.sheets), 1)
    whole = shapely.Polygon(ring)
    own = []
    for sheet in plan.sheets:
        area = shapely.Polygon(sheet.corners)
        for joint in plan.of(sheet):
            if joint.left(ring).min() < 0 < joint.left(ring).max():
                area = shapely.Polygon()  # a trim line through the hole
            elif (joint.left(ring).min() > 0) != (joint.upper == sheet.number):
                area = shapely.Polygon()
        own.append(area.buffer(1e-6).contains(whole))
    assert any(own)


def test_no_trim_line_runs_through_a_stations_words() -> None:
    line = sloping(900.0, 30.0)
    foot = line[::25] + np.array([0.0, 9.0])
    texts = tuple(Text((x, y), f"{k}: 12.3", 3.5, "start", 90.0) for k, (x, y) in enumerate(foot))
    plan = plan_sheets(drawing_of(line, texts=texts), PrintSettings())
    assert plan.layout == "along the edge"
    for joint in plan.joints:
        trim = shapely.LineString(joint.trim)
        assert not any(trim.intersects(shapely.Polygon(text_corners(text))) for text in texts)
    for text in texts:
        assert held(plan, text_corners(text)).all()


def test_the_back_has_the_same_sheets(made: dict[str, Piece]) -> None:
    """A number means the same part of the piece on both, and every rule of joints holds."""
    piece = made["trapped shelf"]
    face = plan_sheets(draw(piece), PrintSettings())
    back = face.mirrored()
    for one, two in zip(face.sheets, back.sheets, strict=True):
        turned = shapely.Polygon(one.corners * [-1, 1])
        assert turned.symmetric_difference(shapely.Polygon(two.corners)).area < 1e-6
    for joint, other in zip(face.joints, back.joints, strict=True):
        middle = back.sheets[other.upper - 1].corners.mean(axis=0)
        assert other.left(middle[None])[0] > 0.0
        assert (joint.upper, joint.lower) == (other.upper, other.lower)
