"""Tilted in between two walls: against closed formulas, and against shapely in leaning rooms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from scribe.fit.entry.tilting import Closing, Sections, relief, tilted


def section(
    length: float, between: float, thickness: float, bevels=(0.0, 0.0), lands=(0.0, 0.0)
) -> Sections:
    """A board of one section, with the walls beside it."""
    none, one = np.zeros(1), np.array([1.0])
    return Sections(none, length * one, none, between * one, thickness, bevels, lands)


@pytest.mark.parametrize(("length", "thickness"), [(1000.0, 18.0), (400.0, 40.0), (2400.0, 22.0)])
def test_a_plain_board_between_plumb_walls_spans_its_diagonal(
    length: float, thickness: float
) -> None:
    """Closed formula: L cos q + t sin q is greatest at tan q = t / L, and is sqrt(L^2 + t^2)."""
    found = tilted(section(length, length, thickness))
    assert found.spare == pytest.approx(length - np.hypot(length, thickness), abs=1e-3)
    assert found.turn == pytest.approx(np.arctan2(thickness, length), rel=0.02)


@pytest.mark.parametrize("lean", [0.004, 0.02])
def test_a_wall_that_closes_in_makes_the_board_thicker(lean: float) -> None:
    """U lets both walls close in on both sides by c. From the face's side the back corner of the
    end that comes last is widest, L sin q - t out of the face: L cos q + (t + c L) sin q - c t. Its
    greatest is sqrt(L^2 + (t + c L)^2) - c t. At home both back corners stand where the walls
    have closed in by c t each. From behind it is c t tighter on the way than from the face's side.
    """
    length, t = 1000.0, 18.0
    shut = (Closing(0.0, lean / 2.0), Closing(0.0, lean / 2.0))
    found = tilted(section(length, length, t), shut)
    on_the_way = length - np.hypot(length, t + lean * length) + lean * t
    assert found.spare == pytest.approx(min(on_the_way, -2.0 * lean * t), abs=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_shapely_turns_the_same_section_between_the_same_walls(seed: int) -> None:
    """The section as a polygon, turned step by step, and the room between its walls as another:
    pushed to one wall, what is left to the other is the spare, at the tightest of 3000 steps.
    """
    rng = np.random.default_rng(seed)
    length, t, between = rng.uniform(300, 1500), rng.uniform(15, 60), 0.0
    bevels, lands = tuple(rng.uniform(0, 3, 2)), tuple(rng.uniform(0, 10, 2))
    between = length + rng.uniform(-0.5, 2.0)
    closing = (Closing(rng.uniform(-0.02, 0.02)), Closing(rng.uniform(-0.02, 0.02)))
    found = tilted(section(length, between, t, bevels, lands), closing)
    (a, b), (h, k) = bevels, lands
    ring = [(0, 0), (length, 0), (length, -k), (length - b, -t), (a, -t), (0, -h)]
    turns = np.linspace(0.0, 3.0 * (t / length + 0.02), 3000)
    spare = np.inf
    for turn in turns * (1.0 if (found.first == 0) == found.face else -1.0):
        turned = affinity.rotate(
            shapely.Polygon(ring), turn, (length * found.first, 0.0), use_radians=True
        )
        low, high = turned.bounds[1], turned.bounds[3]
        home = -t - low if found.face else -high
        x, n = np.array(affinity.translate(turned, 0.0, home).exterior.coords).T
        room = between - closing[1].in_front * n - x, closing[0].in_front * n - x
        spare = min(spare, room[0].min() - room[1].max())
    assert found.spare == pytest.approx(spare, abs=2e-3)


def test_the_better_way_is_told() -> None:
    """The right wall closes in by 3 in 100 in front of the face: from behind it opens, and takes
    the end that comes last as if the board were 18 - 30 mm thick: all of the 0.1 mm is left.
    """
    found = tilted(section(1000.0, 1000.1, 18.0), (Closing(), Closing(0.03)))
    assert (found.face, found.first) == (False, 0)
    assert found.spare == pytest.approx(0.1, abs=1e-9)
    assert tilted(section(1000.0, 1000.1, 18.0)).spare < 0.0


def test_relief_lets_it_in() -> None:
    """b = L - sqrt(W^2 - t^2) at one end makes that diagonal as long as the gap W."""
    tight = section(1000.0, 1000.1, 18.0)
    needed = relief(tight)
    assert needed == pytest.approx(1000.0 - np.sqrt(1000.1**2 - 18.0**2), abs=2e-3)
    assert tilted(section(1000.0, 1000.1, 18.0, (0.0, needed))).spare == pytest.approx(
        0.0, abs=1e-3
    )


def test_u_of_a_wall_counts_against_it() -> None:
    """A lean known to U is taken at its worse end."""
    sure = tilted(section(1000.0, 1001.0, 18.0), (Closing(-0.01), Closing(-0.01)))
    unsure = tilted(section(1000.0, 1001.0, 18.0), (Closing(-0.01, 0.01), Closing(-0.01, 0.01)))
    assert unsure.spare < sure.spare


def test_all_sections_move_together() -> None:
    """Two sections with a millimetre each, the one's nearly all at its left end, the other's at its
    right: the shift that one needs is what the other hasn't got, and 0.1 mm to either side is left
    of it, less what the thickness of 18 mm takes.
    """
    west, near = np.array([0.0, 0.0]), np.array([-0.9, -0.1])
    east, far = np.array([1000.0, 1000.0]), np.array([1000.1, 1000.9])
    alone = [
        tilted(Sections(*(each[k : k + 1] for each in (west, east, near, far)), 18.0)).spare
        for k in (0, 1)
    ]
    together = tilted(Sections(west, east, near, far, 18.0)).spare
    diagonal = np.hypot(1000.0, 18.0) - 1000.0
    assert alone == pytest.approx([1.0 - diagonal] * 2, abs=1e-3)
    assert together == pytest.approx(0.2 - diagonal, abs=1e-3)
