from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom import polyline

ELBOW = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]])


def test_stations_count_along_the_line():
    assert polyline.stations(ELBOW).tolist() == [0.0, 5.0, 11.0]  # 3-4-5, then 6
    assert np.allclose(polyline.point_at(ELBOW, [2.5, 8.0]), [[1.5, 2.0], [3.0, 7.0]])


def test_resampling_keeps_the_corner_it_is_told_to_keep():
    kept = polyline.resample(ELBOW, 2.0, keep=[5.0])
    assert (np.abs(kept - ELBOW[1]).sum(axis=1) < 1e-12).any()
    assert np.hypot(*np.diff(kept, axis=0).T).max() <= 2.0 + 1e-12
    assert np.allclose(kept[[0, -1]], ELBOW[[0, -1]])
    assert not (np.abs(polyline.resample(ELBOW, 2.0) - ELBOW[1]).sum(axis=1) < 1e-12).any()


def test_normals_point_left():
    n = polyline.normals(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]))
    assert np.allclose(n, [[0, 1], [-np.sqrt(0.5), np.sqrt(0.5)], [-1, 0]])


@given(st.lists(st.tuples(st.floats(-5, 15), st.floats(-5, 15)), min_size=1, max_size=20))
def test_distances_equal_another_library(places: list[tuple[float, float]]):
    # shapely (GEOS) as the outside reference.
    feet = polyline.nearest(np.array(places), ELBOW)
    expected = shapely.distance(shapely.points(places), shapely.linestrings(ELBOW))
    assert np.allclose(np.abs(feet.distance), expected, atol=1e-12)


def test_distances_to_a_long_line_equal_another_library():
    rng = np.random.default_rng(8)
    line = np.cumsum(rng.normal(size=(500, 2)), axis=0)
    places = rng.uniform(line.min(axis=0) - 9, line.max(axis=0) + 9, (400, 2))
    places[:100] = line[200:300]  # on it
    feet = polyline.nearest(places, line)
    expected = shapely.distance(shapely.points(places), shapely.linestrings(line))
    assert np.allclose(np.abs(feet.distance), expected, atol=1e-12)
    assert np.allclose(polyline.point_at(line, feet.station), feet.point, atol=1e-9)
    assert np.allclose(np.hypot(*(places - feet.point).T), expected, atol=1e-12)


def test_the_side_is_right_inside_and_outside_of_a_corner():
    sharp = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 3.0]])  # turns left by more than 90 deg
    inside, outside, beyond = polyline.nearest(
        np.array([[5.0, 0.5], [11.0, 0.1], [-2.0, -1.0]]), sharp
    ).distance
    assert inside > 0
    assert outside == pytest.approx(-np.hypot(1.0, 0.1))
    assert beyond < 0
