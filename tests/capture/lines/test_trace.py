"""Lines drawn in a picture of their own: wavy, steep, with gaps, specks and grain."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.lines.trace import trace_line
from scribe.errors import ScribeError
from tests.capture.fake_view import FakeView, line_paint, off, seen

Array = npt.NDArray[np.float64]


def wavy(x0: float = 12.0, x1: float = 98.0) -> Array:
    x = np.linspace(x0, x1, 800)
    return np.stack([x, 35.0 + 5.0 * np.sin(x / 7.0) + 0.05 * x], axis=1)


def upright() -> Array:
    y = np.linspace(8.0, 62.0, 500)
    return np.stack([55.0 + 3.0 * np.sin(y / 8.0), y], axis=1)


@pytest.mark.parametrize("width", [0.25, 0.5, 0.8])
@pytest.mark.parametrize("truth", [wavy(), upright()], ids=["wavy", "upright"])
def test_a_line_is_followed_from_end_to_end(truth: Array, width: float) -> None:
    trace = trace_line(seen(line_paint(truth, width), seed=int(width * 100)))
    miss = off(trace.points, truth)
    # Noise 0.008 of 0.35 contrast, 4 px averaged, two edges of 1 px blur: 0.02 px are 0.003 mm;
    # with width and levels free as well, and twice that for 95 %.
    assert np.quantile(miss, 0.95) < 0.013
    assert miss.max() < 0.05
    assert (miss < 2 * np.hypot(trace.u, 0.001)).mean() > 0.9
    assert trace.measured.mean() > 0.97
    # Travelled with x (or y, upright) growing, normals to the left, both ends reached.
    assert np.hypot(*(trace.points[0] - truth[0])) < 1.0
    assert np.hypot(*(trace.points[-1] - truth[-1])) < 1.0
    travel = np.gradient(trace.points, axis=0)
    left = travel[:, 0] * trace.normals[:, 1] - travel[:, 1] * trace.normals[:, 0]
    assert (left > 0).all()
    assert np.hypot(*trace.normals.T) == pytest.approx(1.0)


def with_gaps_and_specks() -> tuple[FakeView, Array, tuple[float, float]]:
    truth, gap = wavy(), (50.0, 53.0)
    whole = line_paint(truth, 0.5, grain=0.1)
    bare = line_paint(np.array([[1.0, 2.0], [1.1, 2.0]]), 0.01, grain=0.1)
    specks = np.random.default_rng(7).uniform([10, 20], [100, 50], (25, 2))

    def paint(x: Array, y: Array) -> Array:
        light = np.where((x > gap[0]) & (x < gap[1]), bare(x, y), whole(x, y))
        for cx, cy in specks:
            i, j = (
                np.searchsorted(x[0], [cx - 0.5, cx + 0.5]),
                np.searchsorted(y[:, 0], [cy - 0.5, cy + 0.5]),
            )
            part = slice(*j), slice(*i)
            light[part][np.hypot(x[:, part[1]] - cx, y[part[0]] - cy) < 0.3] = 0.15
        return light

    return seen(paint, seed=3), truth, gap


def test_gaps_are_bridged_marked_and_doubted_and_specks_are_not_followed() -> None:
    view, truth, gap = with_gaps_and_specks()
    trace = trace_line(view)
    miss = off(trace.points, truth)
    x = trace.points[:, 0]
    amid = (x > gap[0] + 0.3) & (x < gap[1] - 0.3)
    assert amid.any()
    assert not trace.measured[amid].any()
    assert trace.u[amid].max() > 2 * np.median(trace.u[trace.measured])
    assert (miss[amid] < 2.5 * trace.u[amid]).all()
    assert np.quantile(miss[trace.measured], 0.95) < 0.05
    assert miss[trace.measured].max() < 0.15
    assert trace.facts["gaps"] != "0"


def test_two_lines_are_ambiguous_until_one_is_named() -> None:
    one, other = wavy() - np.array([0.0, 12.0]), wavy() + np.array([0.0, 12.0])
    first, second = line_paint(one, 0.5), line_paint(other, 0.5)
    view = seen(lambda x, y: np.minimum(first(x, y), second(x, y)))
    with pytest.raises(ScribeError) as refusal:
        trace_line(view)
    assert refusal.value.kind == "outline-ambiguous"
    assert "{ends or near}" in refusal.value.do
    trace = trace_line(view, near=other[::100] + np.array([0.0, 1.0]))
    assert np.quantile(off(trace.points, other), 0.95) < 0.02
    a, b = one[200], one[600]
    trace = trace_line(view, start=b, end=a)  # from right to left: travelled as asked
    assert off(trace.points, one).max() < 0.05
    assert trace.points[0] == pytest.approx(b, abs=1.0)
    assert trace.points[-1] == pytest.approx(a, abs=1.0)


def test_an_empty_board_has_no_outline() -> None:
    nothing = line_paint(np.array([[1.0, 2.0], [1.1, 2.0]]), 0.01, grain=0.1)
    with pytest.raises(ScribeError) as refusal:
        trace_line(seen(nothing))
    assert refusal.value.kind == "outline-not-found"


def test_what_the_marks_do_not_support_is_cut_off_or_refused() -> None:
    view = seen(line_paint(wavy(), 0.5))
    view.area = (20.0, 5.0, 80.0, 65.0)
    trace = trace_line(view)
    assert trace.points[:, 0].min() >= 20.0
    assert trace.points[:, 0].max() <= 80.0
    with pytest.raises(ScribeError) as refusal:
        trace_line(view, start=np.array([12.0, 35.0]), end=np.array([60.0, 35.0]))
    assert refusal.value.kind == "outline-outside-marks"
