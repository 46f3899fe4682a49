"""The fixture that joins strips, gauge and level to one fascia: against what was drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.geom.polyline import nearest, stations
from scribe.job_file import read_job
from scribe.recipes.make import make_job
from scribe.recipes.outlines import Captured, captured_all
from tests.rules.source import CHECKOUT

FASCIA = CHECKOUT / "fixtures" / "fascia"


@pytest.fixture(scope="module")
def side() -> Captured:
    job = read_job(FASCIA / "job.toml")
    return captured_all(job.outlines, ["side"], lambda _: None)["side"]


def test_the_truth_lies_within_u(side: Captured) -> None:
    """All along ceiling, wall and skirting, as far as the last pins reached.

    95 % is what U promises; errors go together along a piece, so that less than 90 % or an
    error of twice U says that something is wrong.
    """
    truth = np.loadtxt(FASCIA / "truth.csv", delimiter=",", skiprows=1)
    truth = truth[truth[:, 0] < side.raw.points[:, 0].max()]
    feet = nearest(truth, side.raw.points)
    U = np.interp(feet.station, stations(side.raw.points), side.raw.U)
    off = np.abs(feet.distance) / U
    assert (off <= 1.0).mean() > 0.9
    upright = np.abs(truth[:, 0] - truth[:, 0].max() + 56.0) < 8.0  # pins reach round no corner
    assert off[~upright].max() < 2.0


def test_u_is_least_on_the_longest_and_grows_on_what_hangs_on_it(side: Captured) -> None:
    outline = side.raw
    middle = int(np.argmin(np.abs(outline.points[:, 0] - 600.0)))
    assert outline.U[middle] < 0.1
    assert outline.U[0] > 0.5 > 2.0 * outline.U[middle]
    assert outline.U[-1] > outline.U[middle]
    assert "bevel" not in side.facts["joints"]
    assert "wall and skirting overlap by 7" in side.facts["joints"]


def test_the_fascia_has_its_notch(tmp_path: Path) -> None:
    """Skirting of 15 mm: behind it 15 mm more come off than just above it."""
    make_job(FASCIA / "job.toml", tmp_path / "made")
    rows = np.genfromtxt(
        tmp_path / "made" / "fascia-remove.csv", delimiter=",", skip_header=1, usecols=(0, 1)
    )
    above = rows[(rows[:, 0] > 1150.0) & (rows[:, 0] < 1190.0), 1]
    notch = rows[rows[:, 0] > 1198.0, 1]
    assert notch.min() - above.max() == pytest.approx(15.0, abs=0.5)
