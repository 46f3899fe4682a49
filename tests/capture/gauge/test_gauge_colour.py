"""Pins with a colour are found where light is no help; what is no end of theirs is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely import LineString, distance, points

from scribe.capture.gauge.find import find_comb
from scribe.capture.gauge.goes_on import refuse_going_on
from scribe.capture.gauge.past_shadow import find_edge
from scribe.capture.gauge.tips import find_tips
from scribe.capture.gauge.trace import trace_gauge
from scribe.errors import ScribeError
from tests.capture.comb import Gauge, Picture, Scene, coloured, scene

Array = npt.NDArray[np.float64]
Colour = tuple[float, float, float]

YELLOW, CREAM, SKY, BLUE = (
    (0.95, 0.75, 0.05),
    (0.93, 0.86, 0.62),
    (0.35, 0.6, 0.9),
    (0.04, 0.15, 0.55),
)
GAUGE = Gauge(material="plastic", tip="flat", pins=48)


def wall(s: Array) -> Array:
    return np.asarray(20.0 + 2.0 * np.cos(s / 9.0))


def outside_u(made: Scene) -> tuple[Array, float]:
    """Distances of what was measured from the wall, mm, and the part of them beyond U."""
    trace = trace_gauge(made.picture)
    miss = np.asarray(distance(LineString(made.truth), points(trace.points)))[trace.measured]
    return miss, float(np.mean(miss > 2.0 * trace.u[trace.measured]))


@pytest.mark.parametrize("colour", [YELLOW, CREAM, SKY, BLUE])
@pytest.mark.parametrize("cast", [(1.0, 2.5, 0.05), (-2.0, 1.0, 0.4)])
def test_pins_of_a_colour_in_their_own_shadow(colour: Colour, cast: tuple[float, ...]) -> None:
    miss, outside = outside_u(coloured(wall, GAUGE, colour, shadow=0.5, cast=cast))
    assert np.quantile(miss, 0.95) < 0.12
    assert outside < 0.05


def test_pins_as_light_as_paper_are_refused_where_no_colour_tells_them() -> None:
    # A dark body, which would else be taken for the row of pins.
    made = scene(wall, Gauge(material="plastic", tip="flat", pins=48, light=0.72))
    with pytest.raises(ScribeError) as refused:
        trace_gauge(made.picture)
    assert refused.value.kind in ("gauge-no-contrast", "gauge-not-found")


@pytest.mark.parametrize("material", ["black", "bright"])
def test_ends_beyond_which_the_gauge_goes_on_are_refused(material: str) -> None:
    view = scene(wall, Gauge(material=material, tip="flat", pins=48)).picture
    comb = find_comb(view)
    tips = find_tips(view, comb, find_edge(view, comb))
    refuse_going_on(view, tips, comb.paper)  # the true ends aren't
    # At the body's lower side, where a shadow across the sheet has put them before.
    with pytest.raises(ScribeError) as refused:
        refuse_going_on(view, replace(tips, t=tips.t - 30.0), comb.paper)
    assert refused.value.kind == "gauge-not-found"


def test_pins_of_which_no_end_is_seen_are_refused() -> None:
    """As of a photo at a third of its size, whose colours are kept at a sixth."""
    view = scene(wall, Gauge(material="black", tip="flat", pins=48)).picture
    comb = find_comb(view)
    edge = find_edge(view, comb)
    with pytest.raises(ScribeError) as refused:
        find_tips(view, comb, replace(edge, t=np.full_like(edge.t, np.nan)))
    assert refused.value.kind == "gauge-not-found"


def test_where_light_and_colour_agree_the_light_measures() -> None:
    made = coloured(wall, GAUGE, BLUE, shadow=0.3)
    by_both = trace_gauge(made.picture)
    by_light = trace_gauge(scene_without_colours(made))
    np.testing.assert_array_equal(by_both.points, by_light.points)


def scene_without_colours(made: Scene) -> Picture:
    return replace(made.picture, colours=None)
