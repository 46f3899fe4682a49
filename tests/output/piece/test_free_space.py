"""Hatching lies in the waste, all of it and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.geom.frames import turned
from scribe.output.piece.free_space import FreeSpace, hatching
from scribe.piece import Piece, Polygon
from tests.output.drawn import is_inside


def test_hatching_lies_in_the_waste(piece: Piece) -> None:
    for part in piece.waste:
        for line in hatching(part, 4.0):
            assert is_inside(part, line.mean(axis=0))


def test_a_ring_is_hatched_round_its_hole() -> None:
    """Square of 40 with a hole of 20: length of 45 degree lines 4 mm apart = area / 4."""
    square = np.array([[0, 0], [40, 0], [40, 40], [0, 40.0]])
    hole = (np.array([[10, 10], [10, 30], [30, 30], [30, 10.0]]),)
    lines = hatching(Polygon(square, hole), 4.0)
    total = sum(float(np.hypot(*(b - a))) for a, b in lines)
    assert total == pytest.approx((1600 - 400) / 4, rel=0.05)
    assert not FreeSpace(Polygon(square, hole), (0.0, 0.0, 40.0, 40.0)).free[19:21, 19:21].any()


def test_hatching_runs_on_over_turned_sheets() -> None:
    """The same lines, turned; clear of the same square, and cut down to what is shown."""
    area = Polygon(np.array([[0, 0], [90, 10], [120, 80], [-10, 70.0]]))
    spared = np.array([[30, 30], [50, 30], [50, 50], [30, 50.0]])
    frame = turned(0.4)
    level = hatching(area, 4.0, [spared])
    turned_area = Polygon(frame.apply(area.outer))
    lying = hatching(turned_area, 4.0, [frame.apply(spared)], angle=0.4)
    assert np.array(lying) == pytest.approx(frame.apply(np.array(level)))
    square = shapely.Polygon(spared).buffer(-1e-6)
    assert not any(square.intersects(shapely.LineString(line)) for line in level)
    shown = shapely.box(60.0, 20.0, 100.0, 60.0)
    few = hatching(area, 4.0, [spared], within=np.array(shown.exterior.coords))
    assert len(few) < len(level)
    for lines in (few, level):
        inside_it = [shown.intersection(shapely.LineString(line)).length for line in lines]
        assert sum(inside_it) == pytest.approx(40.0 * 40.0 / 4.0, rel=0.05)
