"""A line followed where its rough way stops early, or runs off along a streak of the board."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.lines.follow import followed
from tests.capture.fake_view import FakeView, line_paint, off, seen

Array = npt.NDArray[np.float64]

STEP = 0.5  # mm


def _line() -> Array:
    x = np.linspace(8.0, 102.0, 900)
    return np.column_stack([x, 35.0 + 1.5 * np.sin(x / 25.0)])


def _view(streak: tuple[float, float] | None = None) -> FakeView:
    """The line, and a dark streak of the board 2.5 mm over it from one x to another."""
    truth = _line()
    line = line_paint(truth, 0.5, grain=0.05)

    def paint(x: Array, y: Array) -> Array:
        light = line(x, y)
        if streak is not None:
            away = y - (np.interp(x, *truth.T) + 2.5)
            fade = np.clip(np.minimum(x - streak[0], streak[1] - x) / 6.0, 0.0, 1.0)
            light = light * (1.0 - 0.45 * fade * np.exp(-0.5 * (away / 0.35) ** 2))
        return light

    return seen(paint, seed=3)


def test_a_line_is_followed_past_the_ends_of_its_rough_way() -> None:
    truth = _line()
    middle = truth[(truth[:, 0] > 45.0) & (truth[:, 0] < 65.0)]
    way, _ = followed(_view(), middle[::10], STEP, one_pen=True)
    assert off(way, truth).max() < 0.1  # a pixel is 0.125 mm
    # Both ends to within two stations; a station sees half a millimetre to either side.
    assert np.hypot(*(way[0] - truth[0])) < 2 * STEP
    assert np.hypot(*(way[-1] - truth[-1])) < 2 * STEP


def test_a_line_is_followed_past_a_place_where_it_is_hidden() -> None:
    """20 mm are looked past, and no more: what lies further off may be another line."""
    truth = _line()
    view = _view()
    smear = view.picture.copy()
    smear[:, int(60.0 * 8) : int(68.0 * 8)] = 0.55
    hidden = FakeView(smear)
    way, _ = followed(
        hidden, truth[(truth[:, 0] > 20.0) & (truth[:, 0] < 50.0)][::10], STEP, one_pen=True
    )
    assert np.hypot(*(way[-1] - truth[-1])) < 2 * STEP
    smear[:, int(60.0 * 8) : int(90.0 * 8)] = 0.55
    way, _ = followed(
        FakeView(smear),
        truth[(truth[:, 0] > 20.0) & (truth[:, 0] < 50.0)][::10],
        STEP,
        one_pen=True,
    )
    assert way[-1, 0] == pytest.approx(60.0, abs=3 * STEP)


def test_a_way_that_runs_off_along_a_streak_is_put_right() -> None:
    truth = _line()
    astray = truth[::10].copy()
    aside = (astray[:, 0] > 44.0) & (astray[:, 0] < 64.0)
    astray[aside, 1] += 2.5
    view = _view(streak=(38.0, 70.0))
    way, _ = followed(view, astray, STEP, one_pen=True)
    assert off(way, truth).max() < 0.1
    # The streak would do for a line: from the first look alone the way stays on it.
    on_streak = astray[aside]
    alone, _ = followed(view, on_streak[3:-3], STEP, one_pen=True)
    assert off(alone, truth).max() > 2.0


def test_a_step_that_the_line_makes_is_no_straying() -> None:
    """Where the chord shows no line, the way stays as it is."""
    x = np.linspace(8.0, 102.0, 900)
    rise = np.clip((x - 44.0) / 3.0, 0.0, 1.0) - np.clip((x - 63.0) / 3.0, 0.0, 1.0)
    truth = np.column_stack([x, 35.0 + 3.0 * rise])
    way, _ = followed(seen(line_paint(truth, 0.5)), truth[::8], STEP, one_pen=True)
    near = off(way, truth)
    assert np.quantile(near, 0.95) < 0.1
    assert near.max() < 0.5
    assert (way[:, 1] > 37.5).sum() * STEP > 12.0
