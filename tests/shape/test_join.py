"""Pieces of one edge laid end to end: where they come to lie, and whether U holds (Monte Carlo)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.geom.laying import lay_by_overlap
from scribe.geom.polyline import nearest, stations
from scribe.joint import Joint
from scribe.shape.join import join
from scribe.shape.join_compare import scale_between
from scribe.shape.strand import strands_of
from tests.shape.pieces import moved, parts, piece, wall


def test_the_same_place_as_an_independent_solver_finds() -> None:
    """scipy's least_squares on the same distances: place and covariance agree.

    The place to a hundredth of its own uncertainty; the covariance to 5 %, for the feet's normals
    are interpolated here and differenced there.
    """
    rng = np.random.default_rng(5)
    one, two = parts(wall(), 1300.0, 1100.0)
    two = two[::5]  # 5 mm apart and more, so that rows count as independent
    two, _ = moved(two)
    two = two + rng.normal(0.0, 0.05, two.shape)
    u = np.full(len(one), 0.03), np.full(len(two), 0.04)
    laid = lay_by_overlap(one, two, u, 200.0)
    inside = laid.on_second.station
    rows = np.searchsorted(stations(two), inside - 1e-9)
    start = laid.first_from_second

    def left(step: np.ndarray) -> np.ndarray:
        middle = start.apply(two[rows]).mean(axis=0)
        turn = turned(step[2]).rotation
        placed = (start.apply(two[rows]) - middle) @ turn.T + middle + step[:2]
        return nearest(placed, one).distance / 0.05

    solved = least_squares(left, np.zeros(3), x_scale=[1.0, 1.0, 1e-3], loss="linear")
    covariance = np.linalg.inv(solved.jac.T @ solved.jac)
    sizes = np.sqrt(np.diag(covariance))
    assert np.abs(solved.x / sizes).max() < 0.3  # robust weights here, none there
    assert np.sqrt(np.diag(laid.own)) == pytest.approx(sizes, rel=0.15)


def test_u_holds_and_grows_away_from_the_overlap() -> None:
    """Two pieces with noise of their own and a turn each: truth within U 95 times in 100.

    Of 12 worlds, at places far from and near to the overlap: 3 sigma of 12 draws is 19 %, and
    errors of one world go together.
    """
    line = wall()
    true_one, true_two = parts(line, 1300.0, 1100.0)
    inside, errors, foretold = [], [], []
    for world in range(12):
        rng = np.random.default_rng(world)
        spin = rng.normal(0.0, 1.0, 2)
        modes = []
        for points in (true_one, true_two):
            bow = np.zeros((1, len(points), 2))
            t = (points[:, 0] - points[0, 0]) / np.ptp(points[:, 0])
            bow[0, :, 1] = 0.4 * t**2
            modes.append(bow)
        noisy = [
            points + spin[k] * modes[k][0] + np.column_stack(
                [np.zeros(len(points)), rng.normal(0.0, 0.05, len(points))]
            )
            for k, points in enumerate((true_one, true_two))
        ]  # fmt: skip
        second = piece(noisy[1], 0.05, modes[1]).in_frame(moved(line)[1])
        joined = join(
            [piece(noisy[0], 0.05, modes[0]), second], [Joint("overlap", overlap=200.0)], ["a", "b"]
        ).outline
        away = np.abs(nearest(joined.points, line).distance)
        inside.append(away <= joined.U + 1e-9)
        last = joined.points[-1, 1] - line[-1, 1]
        errors.append(last)
        foretold.append(joined.u[-1])
        assert joined.u[-1] > joined.u[600] > 0.05
    share = float(np.concatenate(inside).mean())
    assert 0.88 < share <= 0.998, share
    assert np.std(errors) == pytest.approx(np.mean(foretold), rel=0.65)  # 12 draws: 3 * 21 %


def test_a_longer_second_keeps_its_frame_and_the_result_is_the_same() -> None:
    """Too straight to tell how far along: refused until a mark is named on both."""
    line = wall()
    one, two = parts(line, 500.0, 380.0)
    _, second_from_first = moved(two)
    second = piece(two).in_frame(second_from_first)
    with pytest.raises(ScribeError) as caught:
        join([piece(one), second], [Joint("overlap", overlap=120.0)], ["a", "b"])
    assert caught.value.kind == "join-slides"
    joint = Joint("overlap", overlap=120.0, mark=(440.0, 440.0))
    joined = join([piece(one), second], [joint], ["a", "b"]).outline
    away = nearest(joined.points, second_from_first.apply(line)).distance
    assert np.abs(away).max() < 0.02
    assert joined.solid == "left"
    assert joined.u[0] > joined.u[-1]  # the longer one is where it was


def test_what_does_not_match_is_refused_with_its_place() -> None:
    line = wall()
    one, two = parts(line, 1300.0, 1100.0)
    bump = two.copy()
    bump[(two[:, 0] > 1230.0) & (two[:, 0] < 1250.0), 1] += 1.5
    with pytest.raises(ScribeError) as caught:
        join([piece(one), piece(bump)], [Joint("overlap", overlap=200.0)], ["wall", "foot"])
    assert caught.value.kind == "join-disagrees"
    assert "1.5" in caught.value.what
    assert " at 12" in caught.value.what


@pytest.mark.parametrize("scale", [0.98, 1.02])
def test_a_piece_of_another_scale_is_refused(scale: float) -> None:
    """2 % over 400 mm of waves; each seed draws the noise of both anew."""
    for seed in range(4):
        rng = np.random.default_rng(seed)
        one, two = parts(wall(), 800.0, 400.0)
        two, _ = moved(two * scale)
        pieces = [piece(p + rng.normal(0.0, 0.05, p.shape)) for p in (one, two)]
        with pytest.raises(ScribeError, match=r"is (1\.[5-9]|2\.[0-5]) % larger") as refused:
            join(pieces, [Joint("overlap", overlap=400.0)], ["wall", "skirting"])
        assert refused.value.kind == "join-scale"


def test_a_short_overlap_says_that_it_tells_no_scale() -> None:
    """60 mm of a wave 232 mm long: 2 % would move its ends by 0.6 mm along, hardly across."""
    rng = np.random.default_rng(1)
    said = []
    for first_to, second_from in ((360.0, 300.0), (1400.0, 1000.0)):
        one, two = parts(wall(), first_to, second_from)
        two, _ = moved(two)
        pieces = [piece(p + rng.normal(0.0, 0.05, p.shape)) for p in (one, two)]
        joint = Joint("overlap", overlap=first_to - second_from)
        said.append(join(pieces, [joint], ["wall", "skirting"]).said[0])
    assert "too short to tell whether both have one scale" in said[0]
    assert float(said[0].split(" from ")[1].split(" %")[0]) > 5.0
    assert "too short" not in said[1]
    assert said[1].endswith("a difference of scale would show from 1.0 % on")


def test_pieces_of_one_scale_are_not_suspected() -> None:
    """Over seeded noise the scale found scatters by no more than its u says."""
    found = []
    for seed in range(15):
        rng = np.random.default_rng(100 + seed)
        one, two = parts(wall()[::3], 1300.0, 1100.0)
        two, _ = moved(two)
        one, two = (p + rng.normal(0.0, 0.05, p.shape) for p in (one, two))
        first, second = (strands_of([piece(each)], 3)[0] for each in (one, two))
        u = (first.own_u, second.own_u)
        laid = lay_by_overlap(first.points, second.points, u, 200.0)
        assert laid is not None
        placed = replace(second, points=laid.first_from_second.apply(second.points))
        found.append(scale_between(first, placed, laid))
    larger, u = np.array(found).T
    # 15 values of a normal distribution: none beyond 3.29 u but with a chance of 1.5 %; points
    # count as independent from 5 mm on, and here are from 3 mm on, so u is wider than the scatter.
    assert np.abs(larger / u).max() < 3.29
    assert larger.std() < u.mean()


def test_what_else_is_refused() -> None:
    line = wall()
    one, two = parts(line, 1300.0, 1100.0)
    chord = Datum(np.zeros(2), np.array([1.0, 0.0]), "chord")
    with pytest.raises(ScribeError) as caught:
        join([piece(one).with_(datum=chord), piece(two)], [Joint("corner")], ["a", "b"])
    assert caught.value.kind == "join-turn"
    joint = Joint("overlap", overlap=200.0, mark=(1250.0, 5000.0))
    with pytest.raises(ScribeError) as caught:
        join([piece(one), piece(two)], [joint], ["a", "b"])
    assert caught.value.kind == "join-mark"
    with pytest.raises(ScribeError) as caught:
        join([piece(one), piece(two)], [Joint("overlap", overlap=0.5)], ["a", "b"])
    assert caught.value.kind == "join-short"
    loop = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])
    back = np.array([[100.0, 50.0], [50.0, 20.0], [50.0, -40.0]])
    with pytest.raises(ScribeError) as caught:
        join([piece(loop), piece(back)], [Joint("corner")], ["a", "b"])
    assert caught.value.kind == "join-crosses"


def test_a_drawing_with_points_at_its_corners_only_is_laid_as_well() -> None:
    """A wall read every millimetre and a drawn skirting of four points that share its step."""
    x = np.arange(0.0, 601.0, 1.0)
    y = np.where(x < 500.0, 0.0, -18.0)
    drawn = np.array([[300.0, 0.0], [499.5, 0.0], [499.6, -18.0], [800.0, -18.0]])
    wall_part = piece(np.column_stack([x, y]), 0.1)
    joined = join([wall_part, piece(drawn, 0.1)], [Joint("overlap", overlap=300.0)], ["w", "s"])
    end = joined.outline.points[-1]
    assert end == pytest.approx([800.0, -18.0], abs=1.0)


@given(st.floats(-3.0, 3.0), st.floats(-2000.0, 2000.0), st.booleans())
@settings(max_examples=4)
def test_however_the_second_lies_the_joined_shape_is_the_same(
    turn: float, away: float, backwards: bool
) -> None:
    """The first keeps its frame; the second's frame and sense are nobody's business."""
    line = wall()
    one, two = parts(line, 1300.0, 1100.0)
    joint = [Joint("overlap", overlap=200.0)]
    as_it_lies = join([piece(one), piece(two)], joint, ["a", "b"]).outline
    moved_away = piece(two).in_frame(turned(turn, (away, -away)))
    moved_away = moved_away.reversed() if backwards else moved_away
    joined = join([piece(one), moved_away], joint, ["a", "b"]).outline
    assert joined.points == pytest.approx(as_it_lies.points, abs=1e-4)
    assert joined.u == pytest.approx(as_it_lies.u, abs=1e-5)


def test_what_is_closed_has_no_end() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 90)
    ring = np.column_stack([50.0 * np.cos(turn), 50.0 * np.sin(turn)])
    with pytest.raises(ScribeError) as caught:
        join([piece(wall()), piece(ring)], [Joint("overlap", overlap=90.0)], ["wall", "pipe"])
    assert caught.value.kind == "join-closed"
    assert caught.value.where == "pipe"


@pytest.mark.parametrize(
    "wrong",
    [
        {"by": "corner", "angle": 400.0}, {"by": "corner", "angle": -90.0},
        {"by": "corner", "angle": float("nan")}, {"by": "corner", "angle_u95": -3.0},
        {"by": "corner", "diagonal": (0.0, 400.0, 400.0)}, {"by": "corner", "u95": 0.0},
        {"by": "overlap", "overlap": 0.0}, {"by": "overlap", "overlap": float("inf")},
    ],
)  # fmt: skip
def test_a_joint_that_makes_no_sense(wrong: dict) -> None:
    with pytest.raises(ScribeError) as caught:
        Joint(**wrong)
    assert caught.value.kind == "join-value"
