"""A shadow beside a board: painted with its penumbra, by the geometry of a wide lamp."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.edges.cast_shadow import Shadow, shadow_seen
from scribe.capture.edges.thing import thing_on
from tests.capture.fake_view import FakeView, seen

Array = npt.NDArray[np.float64]

LEFT, BELOW, RIGHT, ABOVE = 20.0, 18.0, 92.0, 50.0  # of the board, mm
PAPER, FACE = 0.85, 0.25


def board(
    width: float, dark: float, *, grain: float = 0.0, halo: float = 0.0, noise: float = 0.008
) -> FakeView:
    """A board whose shadow falls `width` mm beyond its right end: half of it umbra, then fading.

    halo: part by which the paper is lighter, half a millimetre round the board.
    """

    def paint(x: Array, y: Array) -> Array:
        beyond = (x - RIGHT) / max(width, 1e-9)
        fading = np.clip(2.0 * (1.0 - beyond), 0.0, 1.0)
        lit = (x > RIGHT) & (beyond < 1.0) & (y > BELOW) & (y < ABOVE)
        light = np.where(lit, PAPER * (1.0 - dark * fading), PAPER + 0.0 * (x + y))
        away = np.maximum(np.abs(x - 0.5 * (LEFT + RIGHT)) - 0.5 * (RIGHT - LEFT),
                          np.abs(y - 0.5 * (BELOW + ABOVE)) - 0.5 * (ABOVE - BELOW))  # fmt: skip
        light = light * (1.0 + halo * (away < 0.5))
        face = (x > LEFT) & (x < RIGHT) & (y > BELOW) & (y < ABOVE)
        return np.where(face, FACE * (1.0 + grain * np.sin(2.3 * y)), light)

    return seen(paint, noise=noise)


def shadow_of(view: FakeView) -> Shadow | None:
    thing = thing_on(view)
    assert thing is not None
    return shadow_seen(view, thing)


@pytest.mark.parametrize("width", [2.0, 5.0, 9.0])
@pytest.mark.parametrize("dark", [0.3, 0.5])
def test_the_width_of_a_shadow(width: float, dark: float) -> None:
    """Its soft end can't be seen where it has taken less than 8 % of the light; 0.3 mm of blur."""
    shadow = shadow_of(board(width, dark, grain=0.1))
    assert shadow is not None
    unseen = 0.08 / dark * width / 2.0
    assert shadow.width == pytest.approx(width - unseen, abs=0.3)
    assert shadow.denies(0.0)
    assert not shadow.denies(width * np.tan(np.radians(20.0)))


def test_what_is_flat_casts_none() -> None:
    assert shadow_of(board(0.0, 0.0, grain=0.2)) is None


def test_noise_and_a_halo_are_no_shadow() -> None:
    """An eighth of the light as noise; paper a sixth lighter beside a board: phones sharpen so."""
    assert shadow_of(board(0.0, 0.0, noise=0.1)) is None
    assert shadow_of(board(0.0, 0.0, halo=0.17)) is None


def test_a_line_beside_a_card_is_not_carried_by_it() -> None:
    thing = thing_on(board(5.0, 0.4))
    assert thing is not None
    level = np.linspace(30.0, 80.0, 40)
    assert thing.carries(np.stack([level, np.full(40, 30.0)], axis=1))
    assert not thing.carries(np.stack([level, np.full(40, 60.0)], axis=1))
