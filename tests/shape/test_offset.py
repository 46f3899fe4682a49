from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.geom.polyline import nearest
from scribe.outline import Outline
from scribe.shape.offset import offset_translated, rolled_back

X = np.arange(0.0, 120.0, 0.5)


def wavy(height: float = 2.0, wave: float = 40.0, solid: str = "left") -> Outline:
    points = np.column_stack([X, height * np.cos(2 * np.pi * X / wave)])
    u = 0.01 + 0.001 * X
    return Outline(points, u, solid, budget={"scale": u * 0.6, "localisation": u * 0.8})


def test_it_goes_towards_the_building_on_either_side():
    assert rolled_back(wavy(), 3.0).points[:, 1].mean() > 2.5
    assert rolled_back(wavy(solid="right"), 3.0).points[:, 1].mean() < -2.5


@settings(max_examples=15)
@given(st.floats(0.1, 6), st.floats(-3, 3))
def test_parallel_offset_moves_with_its_outline(distance: float, angle: float):
    place = turned(angle, (30.0, -12.0))
    one = rolled_back(wavy(), distance)
    other = rolled_back(wavy().in_frame(place), distance)
    gap = nearest(place.apply(one.points), other.points).distance
    assert np.abs(gap).max() < 1e-6
    back = rolled_back(wavy().reversed(), distance)
    assert np.abs(nearest(one.points, back.points).distance).max() < 1e-6
    assert back.solid == "right"


def test_uncertainty_and_gaps_come_along():
    source = wavy()
    moved = rolled_back(source, 2.0)
    assert moved.measured.all()  # least radius of the wave: L^2 / (4 pi^2 A) = 20 mm
    where = np.interp(moved.points[:, 0], X, source.u)
    assert np.allclose(moved.u, where, rtol=0.05)
    assert np.allclose(moved.budget["scale"], 0.6 * moved.u)
    gappy = source.with_(measured=np.abs(X - 60.0) > 5.0)
    kept = rolled_back(gappy, 2.0)
    assert not kept.measured[np.abs(kept.points[:, 0] - 60.0) < 4.0].any()
    assert kept.measured[np.abs(kept.points[:, 0] - 60.0) > 6.5].all()


@pytest.mark.parametrize(
    # Slope, and what a parallel offset adds along the push per mm: sqrt(1 + m^2) - 1.
    ("slope", "excess"),
    [
        (0.05, 0.001249),
        (0.1, 0.004988),
        (0.2, 0.019804),
        (0.5, 0.118034),
        (1.0, 0.414214),
        (2.0, 1.236068),
    ],
)
def test_parallel_and_translated_differ_on_a_slope(slope: float, excess: float):
    run = Outline(np.column_stack([X, slope * X]), np.zeros(len(X)), "right")
    parallel = rolled_back(run, 20.0).points
    pushed = offset_translated(run, 20.0, (0.0, -5.0)).points
    assert np.allclose(slope * pushed[:, 0] - pushed[:, 1], 20.0)
    assert np.allclose(slope * parallel[:, 0] - parallel[:, 1] - 20.0, 20.0 * excess, atol=2e-5)


def test_refusals():
    loop = Outline(np.array([[0.0, 0], [10, 0], [10, 5], [5, -5]]), np.zeros(4), "left")
    with pytest.raises(ScribeError) as crossing:
        rolled_back(loop, 1.0)
    assert crossing.value.kind == "offset-crossing"
    hook = Outline(np.array([[0.0, 0], [0, 10], [6, 10], [6, 0]]), np.zeros(4), "right")
    with pytest.raises(ScribeError) as apart:
        rolled_back(hook, 8.0)
    assert apart.value.kind == "offset-apart"
    with pytest.raises(ScribeError) as nowhere:
        offset_translated(hook, 8.0, (0.0, 0.0))
    assert nowhere.value.kind == "offset-direction"
    assert rolled_back(loop, 0.0) is loop
