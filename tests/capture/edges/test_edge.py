"""Boards in a picture of their own: wavy and stepped edges, corners, shadows, no contrast."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.edges.edge import trace_edge
from scribe.capture.edges.sides import corners_between, sided_directions
from scribe.errors import ScribeError
from tests.capture.fake_view import board_paint, off, seen

Array = npt.NDArray[np.float64]


def wavy() -> Array:
    x = np.linspace(15.0, 95.0, 400)
    return np.stack([x, 45.0 + 3.0 * np.sin(x / 8.0)], axis=1)


def stepped() -> Array:
    return np.array([[15.0, 40], [45, 40], [45, 46], [70, 46], [76, 40], [95, 42]])


def board(edge: Array) -> Array:
    return np.vstack([edge, [[edge[-1, 0], 10.0], [edge[0, 0], 10.0]]])


@pytest.mark.parametrize("shadow", [(0.0, 0.0), (2.0, 5.0), (-4.0, 3.0), (1.0, -3.0)])
@pytest.mark.parametrize("face", [0.1, 0.3, 0.6])
def test_the_edge_is_found_and_not_its_shadow(face: float, shadow: tuple[float, float]) -> None:
    truth = wavy()
    trace = trace_edge(seen(board_paint(board(truth), face=face, shadow=shadow)))
    miss = off(trace.points, truth)
    # The face's ripple, 3 % of its light and as long as a scan line, looks like a slope of
    # the flat and moves an edge of contrast 0.8 - face.
    assert np.quantile(miss[trace.measured], 0.95) < 0.04 + 0.3 * 0.03 * face / (0.8 - face)
    assert trace.measured.mean() > 0.9
    assert trace.facts["object"] == "below"
    # In its own shadow an end may stay some millimetres short, never go past.
    short = 5.0 if shadow[1] > 0.0 else 1.5
    assert truth[0, 0] - 0.3 < trace.points[:, 0].min()
    assert trace.points[:, 0].max() < truth[-1, 0] + 0.3
    assert np.hypot(*(trace.points[0] - truth[0])) < short
    assert np.hypot(*(trace.points[-1] - truth[-1])) < short
    assert (trace.normals[:, 1] > 0.5).all()


def test_corners_stay_sharp() -> None:
    truth = stepped()
    trace = trace_edge(seen(board_paint(board(truth))))
    miss = off(trace.points, truth)
    assert np.quantile(miss, 0.95) < 0.05
    for corner in truth[1:5]:
        # Rounded by scan lines of 0.7 mm it would stay 0.3 mm away.
        assert np.hypot(*(trace.points - corner).T).min() < 0.15


def test_an_edge_above_the_window_s_middle_may_hang_from_the_top() -> None:
    truth = wavy()
    hanging = np.vstack([truth, [[95.0, 75.0], [15.0, 75.0]]])
    trace = trace_edge(seen(board_paint(hanging)))
    assert trace.facts["object"] == "above"
    assert np.quantile(off(trace.points, truth), 0.9) < 0.03


def test_the_ends_that_are_given_are_kept() -> None:
    truth = wavy()
    trace = trace_edge(seen(board_paint(board(truth))), start=truth[100], end=truth[300])
    assert trace.points[0] == pytest.approx(truth[100], abs=1.5)
    assert trace.points[-1] == pytest.approx(truth[300], abs=1.5)


def test_an_edge_is_the_same_whichever_way_it_is_travelled() -> None:
    truth, view = wavy(), seen(board_paint(board(wavy()), shadow=(2.0, 5.0)))
    there = trace_edge(view, start=truth[100], end=truth[300])
    back = trace_edge(view, start=truth[300], end=truth[100])
    assert back.points[::-1] == pytest.approx(there.points)
    assert back.u[::-1] == pytest.approx(there.u)
    assert back.normals[::-1] == pytest.approx(-there.normals)
    assert (there.facts["object"], back.facts["object"]) == ("below", "above")


def test_white_on_white_has_no_contrast() -> None:
    with pytest.raises(ScribeError) as refusal:
        trace_edge(seen(board_paint(board(wavy()), face=0.8)))
    assert refusal.value.kind == "edge-no-contrast"


def test_a_face_as_bright_as_its_shadow_is_refused() -> None:
    paint = board_paint(board(wavy()), face=0.44, shadow=(0.0, 4.0))
    flat = seen(paint, noise=0.0)
    flat.picture[(flat.picture > 0.38) & (flat.picture < 0.5)] = 0.44
    with pytest.raises(ScribeError) as refusal:
        trace_edge(flat)
    assert refusal.value.kind == "edge-shadow"


def test_a_point_beside_a_corner_takes_its_own_side() -> None:
    rising = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]])
    place = np.linspace(0.0, 20.0, 41)
    points = np.stack([np.interp(place, [0, 10, 20], rising[:, axis]) for axis in (0, 1)], axis=1)
    _, travel = sided_directions(place, points, 1.5)
    assert travel[:19] == pytest.approx(np.tile([1.0, 0.0], (19, 1)), abs=0.02)
    assert travel[22:] == pytest.approx(np.tile([0.0, 1.0], (19, 1)), abs=0.02)
    normals = travel[:, ::-1] * (-1.0, 1.0)
    (corner,) = corners_between(points, normals)
    assert corner.point == pytest.approx([10.0, 0.0], abs=0.05)


def test_an_edge_softer_than_the_marks_is_a_shadow_s() -> None:
    soft = seen(board_paint(board(wavy()), face=0.3), blur_px=2.4)
    soft.blur_px = 1.3
    with pytest.raises(ScribeError) as refusal:
        trace_edge(soft)
    assert refusal.value.kind == "edge-shadow"
    # The same board far above the plane in focus may well be as soft as that.
    soft.height = 60.0
    trace = trace_edge(soft)
    assert np.quantile(off(trace.points, wavy())[trace.measured], 0.95) < 0.06


@pytest.mark.parametrize("width", [0.45, 0.7])
def test_a_strip_of_shadow_as_sharp_as_the_edge_is_refused(width: float) -> None:
    painted = board_paint(board(wavy()), face=0.2, shadow=(0.0, width), soft=0.12)
    with pytest.raises(ScribeError) as refusal:
        trace_edge(seen(painted))
    assert refusal.value.kind == "edge-shadow"


def test_an_edge_is_not_left_for_the_inner_side_of_its_arris() -> None:
    """An eased arris in shade is darker than the face. Where it is hardly so, the light tells the
    edge; so it isn't the face's border beside it that is looked for elsewhere.
    """
    truth = wavy()

    def paint(x: Array, y: Array) -> Array:
        light = board_paint(board(truth), face=0.4)(x, y)
        deep = np.interp(x, *truth.T) - y
        arris = (deep > 0.0) & (deep < 0.6) & (x > truth[0, 0]) & (x < truth[-1, 0])
        return np.where(arris, light * np.where(x < 45.0, 0.85, 0.6), light)

    with pytest.raises(ScribeError) as refusal:
        trace_edge(seen(paint))
    assert refusal.value.kind == "edge-shadow"


def test_u_grows_beside_a_step_that_is_too_low_for_a_corner_and_nowhere_else() -> None:
    low = np.array([[15.0, 40.0], [55.0, 40.0], [55.05, 40.35], [95.0, 40.35]])
    trace = trace_edge(seen(board_paint(board(low))))
    miss = off(trace.points, low)
    beside = np.abs(trace.points[:, 0] - 55.0) < 1.0
    assert trace.u[beside].max() > 0.1
    assert (miss[beside] < 2.0 * trace.u[beside] + 0.02).all()
    assert np.quantile(trace.u[~beside], 0.95) < 0.03
