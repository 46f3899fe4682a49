"""Passes and tight spots on profiles whose radii are known."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.fit.passes import plan
from scribe.piece import BY_HAND
from scribe.tools import USUAL_TOOLS, Tool

SAW = Tool("saw", "saw", radius=10.0, least=2.0, standoff=1.0, kerf=1.2)
PLANE = Tool("plane", "finish", radius=5000.0, most=2.0)
FILE = Tool("file", "finish", radius=8.0, most=1.0)


def test_little_is_planed_and_much_is_sawn_first() -> None:
    """A wedge of 0..6 mm over 900: a plane takes 2 mm, which is reached at station 300."""
    passes = plan(np.array([0.0, 900.0]), np.array([0.0, 6.0]), [SAW, PLANE])
    planed, sawn = passes.runs[-2:]
    assert (planed.rough, planed.finish) == (None, "plane")
    assert (sawn.rough, sawn.finish) == (SAW, "plane")
    assert sawn.start == pytest.approx(300.0, abs=1.0)
    assert (sawn.least, sawn.most) == (pytest.approx(2.0, abs=0.01), pytest.approx(6.0))
    assert passes.runs[0].start == 0.0
    assert passes.runs[-1].stop == pytest.approx(900.0, abs=0.01)
    assert not passes.tight


def test_runs_follow_each_other_without_gaps() -> None:
    s = np.linspace(0.0, 1500.0, 700)
    passes = plan(s, 3.0 + 3.0 * np.sin(s / 110.0), USUAL_TOOLS)
    stops = [run.stop for run in passes.runs[:-1]]
    assert stops == [run.start for run in passes.runs[1:]]
    assert sum(run.stop - run.start for run in passes.runs) == pytest.approx(1500.0, abs=0.2)


@pytest.mark.parametrize(
    ("radius", "tight"), [(7.0, True), (9.0, True), (11.0, False), (20.0, False)]
)
def test_a_fillet_tighter_than_the_blade_is_marked(radius: float, tight: bool) -> None:
    """A groove of known radius cut into the piece: a disc of 10 mm can't reach the bottom of one
    of less. How much stands: the disc rests on the groove's rim or walls (closed form).
    """
    half = 0.9 * radius  # of the groove's width: its walls are nowhere upright
    x = np.linspace(-half, half, 801)
    groove = np.sqrt(radius**2 - x**2) - np.sqrt(radius**2 - half**2)
    s = np.concatenate([[0.0], 100.0 + x, [200.0]])
    r = 5.0 + np.concatenate([[0.0], groove, [0.0]])
    passes = plan(s, r, [SAW, PLANE, FILE])
    saws = [spot for spot in passes.tight if spot.tool is SAW]
    assert bool(saws) is tight
    if tight:
        depth = radius - np.sqrt(radius**2 - half**2)
        sunk = 10.0 - np.sqrt(10.0**2 - half**2)  # how far the disc enters between the rims
        assert saws[0].left == pytest.approx(depth - sunk, abs=0.02)
        assert saws[0].deepest == pytest.approx(100.0, abs=1.0)
        assert saws[0].instead == BY_HAND


def test_an_inner_corner_leaves_the_tools_own_fillet() -> None:
    """At an inner corner of a step a disc of radius R leaves R (sqrt 2 - 1) across the corner;
    along the wall of the step it leaves R at the foot (ISO 16610-41, by hand).
    """
    router = Tool("router", "finish", radius=6.35, most=50.0)
    chisel = Tool("chisel", "finish")
    s = np.array([0.0, 300.0, 300.0, 600.0])
    passes = plan(s, np.array([0.0, 0.0, 20.0, 20.0]), [SAW, router, chisel])
    (spot,) = (spot for spot in passes.tight if spot.tool is router)
    assert spot.instead == "chisel"
    assert spot.start == pytest.approx(300.0, abs=0.1)
    # On the level floor it stands clear of the wall by R: there it leaves less than 0.1 mm.
    assert spot.stop == pytest.approx(300.0 + 6.35 - np.sqrt(2 * 6.35 * 0.1), abs=1.0)
    assert spot.left == pytest.approx(6.35, abs=0.3)


def test_short_stretches_go_with_their_neighbours() -> None:
    """A plane's stretch of 20 mm in the middle of sawing isn't worth another pass."""
    s = np.array([0.0, 390.0, 400.0, 410.0, 800.0])
    passes = plan(
        s,
        np.array([2.6, 2.6, 1.99, 2.6, 2.6]),
        [Tool("saw", "saw", least=1.5, standoff=1.0), Tool("plane", "finish", most=2.0)],
    )
    assert len(passes.runs) == 1
    deep = plan(
        s,
        np.array([1.0, 1.0, 9.0, 1.0, 1.0]),
        [Tool("saw", "saw", least=1.5, standoff=1.0), Tool("plane", "finish", most=2.0)],
    )
    assert [bool(run.rough) for run in deep.runs] == [False, True, False]
