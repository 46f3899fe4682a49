"""Boards behind their shadow: as sharp as the board or softer, darker than it or lighter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import ndtr

from scribe.capture.edges.begins import hidden_behind
from scribe.capture.edges.edge import trace_edge
from scribe.capture.edges.scan import Stations, along, stations
from scribe.capture.edges.two_steps import fit_inner_step
from scribe.errors import ScribeError
from tests.capture.fake_view import FakeView, board_paint, off, seen

Array = npt.NDArray[np.float64]
X = np.linspace(15.0, 95.0, 400)
WALL = np.stack([X, 45.0 + 3.0 * np.sin(X / 8.0)], axis=1)
BOARD = np.vstack([WALL, [[95.0, 10.0], [15.0, 10.0]]])


def lit(face: float, shadow: tuple[float, float], soft: float) -> FakeView:
    """Paper 0.8, in full shadow 0.44; soft: mm, standard deviation of the shadow's border."""
    view = seen(board_paint(BOARD, face=face, shadow=shadow, soft=soft, ripple=0.005))
    return replace(view, height=5.0)


@pytest.mark.parametrize(("face", "strip"), [(0.5, 0.3), (0.2, 0.35)])
def test_the_inner_step_is_found_before_a_wide_penumbra(face: float, strip: float) -> None:
    t = np.arange(-12.0, 12.1, 0.5)
    at = np.random.default_rng(2).uniform(-1.0, 1.0, 300)
    inner, outer = ndtr(t - at[:, None]), ndtr((t - at[:, None] - 8.0) / 2.0)
    rows = face + (strip - face) * inner + (0.7 - strip) * outer
    rows += np.random.default_rng(4).normal(0.0, 0.003, rows.shape)
    two, far = fit_inner_step(t, rows, pixel=1.0, blur=1.0)
    assert two.ok.mean() > 0.95
    miss = (two.position - at)[two.ok]
    assert abs(np.median(miss)) < 0.02
    # The guesses about blur and gap hold it closer than its u says, never further.
    assert np.std(miss / two.u[two.ok]) < 1.2
    assert np.median(far) == pytest.approx(0.7, abs=0.02)


@pytest.mark.parametrize("soft", [0.08, 0.5])
@pytest.mark.parametrize("face", [0.36, 0.52])
@pytest.mark.parametrize("shadow", [(1.0, 3.0), (-3.0, 5.0)])
def test_the_board_is_found_behind_its_shadow(
    face: float, soft: float, shadow: tuple[float, float]
) -> None:
    trace = trace_edge(lit(face, shadow, soft))
    miss = off(trace.points, WALL)[trace.measured]
    assert np.quantile(miss, 0.95) < 0.08
    # Where the outline turns along the light, the penumbra is as narrow as the edge is sharp.
    assert trace.measured.mean() > 0.75


def test_an_edge_that_a_hard_shadow_hides_is_noticed() -> None:
    view = lit(0.52, (0.0, 3.0), 0.08)
    edge = stations(WALL, 1.0, 0.5)
    border = Stations(edge.points + np.array([0.0, 3.0]), edge.normals, along(edge.points))
    assert hidden_behind(view, border) > 0.5
    assert hidden_behind(view, edge) < 0.02
    bare = lit(0.52, (0.0, 0.0), 0.08)
    assert hidden_behind(bare, edge) < 0.02


def test_an_edge_that_is_told_from_its_shadow_in_parts_only_is_refused() -> None:
    # So large a shadow of so light a board leaves too little paper to tell the rest by.
    with pytest.raises(ScribeError) as refusal:
        trace_edge(lit(0.6, (-3.0, 5.0), 0.08))
    assert refusal.value.kind == "edge-shadow"


@pytest.mark.parametrize("high", [8.0, 14.0, 20.0])
def test_a_narrow_thing_is_not_taken_for_the_shadow_of_its_shadow(high: float) -> None:
    batten = np.vstack([WALL, WALL[::-1] - np.array([0.0, high])])
    painted = board_paint(batten, face=0.3, shadow=(1.0, -6.0), soft=0.3, ripple=0.005)
    trace = trace_edge(seen(painted))
    assert np.quantile(off(trace.points, WALL), 0.9) < 0.05
