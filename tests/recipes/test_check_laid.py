"""A cut edge of which it is known how it lies on the piece: in the piece's frame, or by widths."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.fit.check.compare import compare
from scribe.job_file import read_job
from scribe.outline import Outline
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.fitted import fitted_piece
from tests.recipes.cut_strip import WALL, X, edge_csv, in_place, strip_job


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return strip_job(tmp_path)


def test_a_slip_along_is_saved_by_a_shift(job: Path, tmp_path: Path) -> None:
    """Cut 1.4 mm too far along, its ends where they belong: by shape alone nothing is wrong; held
    by what is known of its place it gapes, and a shift of as much saves it. The clearance is cut
    as a shift of the wall here, which leaves 0.5 (sqrt(1 + m^2) - 1) = 0.02 mm, m = 0.28.
    """
    slipped = in_place(tmp_path, np.zeros(len(X)), along=1.4)
    free = check(CheckSource(job, "strip", (slipped,))).check
    assert free.gap[0] < 0.12
    held = check(CheckSource(job, "strip", (slipped,), lay="piece", filler=0.2))
    assert held.check.gap[0] > 0.5
    move = held.check.shift
    assert move is not None
    assert move.along == pytest.approx(-1.4, abs=0.11)
    assert move.gap < 0.12
    said = next(line for line in held.lines() if line.startswith("a shift saves it"))
    assert "mm towards the left end" in said
    assert "nothing gapes by more than 0." in said
    assert any("no other edge of the piece is held" in line for line in held.lines())


def test_widths_say_how_far_in_an_edge_lies_and_how_turned(job: Path, tmp_path: Path) -> None:
    """Shape true, but the piece 0.8 mm too wide at 40 and 0.2 too narrow at 360.

    Between two widths the error is linear: 0.8 - (s - 40) / 320.
    """
    first = fitted_piece(read_job(job), "strip", lambda _: None).cuts[0]
    width = np.interp([40.0, 360.0], first.line[:, 0], first.line[:, 1])
    widths = ((40.0, float(width[0]) + 0.8), (360.0, float(width[1]) - 0.2))
    cut = edge_csv(tmp_path, np.zeros(len(X)))
    found = check(CheckSource(job, "strip", (cut,), widths=widths)).check.found
    assert found.laid.across
    assert not found.laid.along
    slope = np.gradient(np.interp(found.station, X, WALL), found.station)
    expected = (0.8 - (found.station - 40.0) / 320.0) / np.hypot(1.0, slope)
    assert found.deviation == pytest.approx(expected, abs=0.06)
    # At a width U is that of the width, 0.3 mm, and what the points and the wall leave.
    assert np.interp(40.0, found.station, 2.0 * found.u) == pytest.approx(0.32, abs=0.02)


def test_u_of_the_deviations_is_what_they_scatter_by(job: Path) -> None:
    """12 true cuts, each point 0.06 mm off by itself: 95 % lie within U, the plan's part aside.

    A station lies anywhere between two points, so that its variance is (1 - t)^2 + t^2 of a
    point's, 2/3 on average, less what shift and turn take up of 180 points (1 %). 12 x 70
    stations share points by two: the ratio scatters by sqrt(2 / 420) = 7 % of itself.
    """
    cut = fitted_piece(read_job(job), "strip", lambda _: None).cuts[0]
    cut = replace(cut, u=np.zeros(len(cut.u)))
    rng = np.random.default_rng(3)
    points = cut.line[(cut.line[:, 0] > 20.0) & (cut.line[:, 0] < 380.0)]
    normalised = []
    for _ in range(12):
        noisy = points + rng.normal(0.0, 0.06, points.shape)
        found = compare(cut, Outline(noisy, np.full(len(points), 0.06), "left"))
        normalised += (found.deviation / found.u).tolist()
    assert np.mean(np.abs(normalised) <= 2.0) > 0.95
    assert np.mean(np.square(normalised)) == pytest.approx(2 / 3, abs=0.15)
