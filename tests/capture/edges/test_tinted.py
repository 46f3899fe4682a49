"""A thing with a colour is told from paper, in light and in shadow; one without isn't."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.tinted import PAPER, tinted
from tests.capture.coloured_view import CORNERS, coloured

YELLOW, PINE, MINT = (0.95, 0.75, 0.05), (0.8, 0.62, 0.38), (0.6, 0.85, 0.7)


@pytest.mark.parametrize("colour", [YELLOW, PINE, MINT])
def test_paper_is_one_light_in_sun_and_shadow_and_the_thing_is_none(
    colour: tuple[float, ...],
) -> None:
    view = coloured(colour, shadow=(0.0, 6.0), depth=(0.5, 0.5, 0.5))
    seen = tinted(view, 0.5)
    assert seen is not None
    places = {"lit": (60.0, 62.0), "shadow": (60.0, 43.0), "thing": (60.0, 25.0)}
    lights = {
        name: float(
            np.mean(seen.light(np.array(at) + np.random.default_rng(1).uniform(-1, 1, (400, 2))))
        )
        for name, at in places.items()
    }
    # A part of each pixel's colours is noise: 400 of them leave a hundredth.
    assert lights["lit"] == pytest.approx(PAPER, abs=0.02)
    assert lights["shadow"] == pytest.approx(PAPER, abs=0.02)
    assert lights["thing"] == pytest.approx(0.0, abs=0.06)  # its light varies, here by a ripple


@pytest.mark.parametrize("face", [0.9, 0.75, 0.4, 0.05])
def test_a_thing_without_a_colour_has_no_such_light(face: float) -> None:
    assert tinted(coloured((face,) * 3, shadow=(0.0, 6.0), depth=(0.5, 0.5, 0.5)), 0.5) is None


def planck(micron: float, kelvin: float) -> float:
    """Light of a glowing body, up to a factor (second radiation constant 14388 um K, CODATA)."""
    return float(micron**-5.0 / np.expm1(14388.0 / (micron * kelvin)))


@pytest.mark.parametrize("reach", [6.0, 20.0])
@pytest.mark.parametrize("lamp", [(2800.0, 6500.0), (6500.0, 2800.0), (5500.0, 12000.0)])
def test_a_coloured_shadow_of_a_white_board_is_no_coloured_thing(
    lamp: tuple[float, float], reach: float
) -> None:
    # Of two lamps that light alike, what one leaves is the other's part of each colour.
    own, other = (np.array([planck(each, t) for each in (0.6, 0.54, 0.45)]) for t in lamp)
    own, other = own / own.mean(), other / other.mean()
    depth = tuple(float(part) for part in own / (own + other))
    assert tinted(coloured((0.97, 0.97, 0.97), shadow=(0.0, reach), depth=depth), 0.5) is None


def test_a_dark_blue_thing_is_bluer_than_any_shadow() -> None:
    """As 0.36 / 0.64 to 0.05 / 0.95, or 10.7 to 1, differ no two lamps; 5.1 to 1 may."""
    assert tinted(coloured((0.05, 0.1, 0.36)), 0.5) is not None
    assert tinted(coloured((0.1, 0.18, 0.36)), 0.5) is None


def test_what_is_wider_than_shadows_are_is_a_thing_with_its_colour() -> None:
    """Pine in less light than the paper may be a lamp's shadow 30 mm wide, but none of 50 mm."""
    pine = (0.67, 0.54, 0.38)
    tall = CORNERS + [[0.0, 20.0 * (y > 20.0)] for y in CORNERS[:, 1]]
    assert tinted(coloured(pine), 0.5) is None
    assert tinted(coloured(pine, corners=tall), 0.5) is not None


def test_a_coloured_shadow_beside_a_coloured_board_stays_paper() -> None:
    view = coloured(YELLOW, shadow=(0.0, 6.0), depth=(0.55, 0.47, 0.4))
    seen = tinted(view, 0.5)
    assert seen is not None
    assert seen.light(np.array([60.0, 43.0])) > 0.5 * PAPER


def test_a_picture_without_colours_has_no_such_light() -> None:
    view = coloured(YELLOW)
    view.colours = None
    assert tinted(view, 0.5) is None


def test_the_board_lies_where_the_tests_say() -> None:
    low, high = CORNERS.min(axis=0), CORNERS.max(axis=0)
    assert low[0] < 60.0 < high[0]
    assert low[1] < 25.0 < high[1] < 43.0
