"""Putting an outline right with a finger: where it goes, and what its u becomes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.recipes.correct import AIM_PX, cut_off, pixels_of, pulled
from scribe.recipes.sight import NODES, Sight

MM_PER_PX = 0.1
SIZE = (2001, 1001)


def straight(n: int = 201) -> Outline:
    x = np.linspace(20.0, 180.0, n)
    return Outline(np.stack([x, np.full(n, 50.0)], axis=1), np.full(n, 0.03), "left")


def square_on(tilt: float = 0.0) -> Sight:
    """x grows right, y up: a pixel is a tenth of a millimetre, and with a tilt bends away."""
    w, h = SIZE
    px, py = np.meshgrid(np.linspace(0, w - 1, NODES), np.linspace(0, h - 1, NODES))
    depth = 1.0 + tilt * py / h
    grid = np.stack([px * MM_PER_PX / depth, (h - 1 - py) * MM_PER_PX / depth], axis=-1)
    middle = np.full((len(straight()), 2), [1000.0, 500.0])
    return pixels_of(straight(), Sight("wall.jpg", SIZE, middle, grid))


@pytest.mark.parametrize("tilt", [0.0, 0.3])
def test_the_grid_is_read_backwards(tilt: float) -> None:
    sight = square_on(tilt)
    # Four steps of Newton on a grid that is bilinear in every cell: exact but for rounding.
    assert np.abs(sight.sheet(sight.outline_px) - straight().points).max() < 1e-6


def test_a_pulled_point_lies_where_the_finger_let_go() -> None:
    before, sight = straight(), square_on()
    at = sight.outline_px[100]
    after = pulled(before, sight, at, at + np.array([0.0, -20.0]), 2.5)
    assert after.points[100] == pytest.approx([100.0, 52.0], abs=1e-9)  # 20 px of 0.1 mm, up
    # A twelfth of 160 mm to both sides moves, the rest stays as it was measured.
    stays = np.abs(before.points[:, 0] - 100.0) > 160.0 / 12.0
    assert (after.points[stays] == before.points[stays]).all()
    assert (after.u[stays] == before.u[stays]).all()
    # What a finger sets is known as well as it aims: 1.5 px of the screen, each 2.5 of the photo.
    aim = AIM_PX * 2.5 * MM_PER_PX
    assert after.u[100] == pytest.approx(np.hypot(0.03, aim))
    assert (after.budget["by hand"] ** 2 + 0.03**2) == pytest.approx(after.u**2)


def test_half_way_up_the_step_any_place_between_is_as_likely() -> None:
    """Rectangular over the pull: a standard uncertainty of d / sqrt(12) (JCGM 100, 4.3.7)."""
    before, sight = straight(1601), square_on()
    start = np.array([1000.0, 500.0])
    after = pulled(before, sight, start, start + np.array([0.0, -20.0]), 1e-9)  # a perfect aim
    share = (after.points[:, 1] - 50.0) / 2.0
    half = int(np.abs(share - 0.5).argmin())
    # Points lie 0.1 mm apart on a step 13 mm long: within 0.02 of half its height, u within 0.1 %.
    assert after.budget["by hand"][half] == pytest.approx(2.0 / np.sqrt(12.0), rel=1e-3)
    assert after.budget["by hand"][share > 1.0 - 1e-12] == pytest.approx(0.0, abs=1e-6)
    assert after.origin.endswith("put right by hand")


def test_what_is_cut_off_is_gone_and_the_rest_untouched() -> None:
    before, sight = straight(), square_on()
    after = cut_off(before, sight, sight.outline_px[150], "end")
    assert (after.points == before.points[:151]).all()
    after = cut_off(before, sight, sight.outline_px[150], "start")
    assert (after.points == before.points[150:]).all()


def stretch(first: int, last: int) -> Sight:
    """One photo of a run: it shows the outline's points from first to before last."""
    whole = square_on()
    return replace(whole, outline_px=whole.outline_px[first:last], first=first)


def test_a_photo_of_a_run_follows_what_is_cut_off_elsewhere() -> None:
    before, after = straight(), straight().part(slice(60, None))
    part = pixels_of(after, stretch(40, 120), dropped=60)
    assert (part.first, len(part.outline_px)) == (0, 60)
    assert part.sheet(part.outline_px) == pytest.approx(after.points[:60], abs=1e-6)
    assert len(pixels_of(after, stretch(0, 50), dropped=60).outline_px) == 0
    shorter = before.part(slice(0, 101))
    assert len(pixels_of(shorter, stretch(90, 150)).outline_px) == 11
    assert len(pixels_of(shorter, stretch(120, 150)).outline_px) == 0


def test_a_pull_reaches_as_far_as_its_photo_bears() -> None:
    """A twelfth of the 64 mm that the photo shows, to each side, and not of the whole run."""
    before, sight = straight(), stretch(60, 141)
    at = sight.outline_px[40]
    after = pulled(before, sight, at, at + np.array([0.0, -5.0]), 2.5)
    moved = np.flatnonzero(after.points[:, 1] != before.points[:, 1])
    assert np.ptp(before.points[moved, 0]) < 2.0 * 64.0 / 12.0
    with pytest.raises(ScribeError) as refusal:
        pulled(before, sight, at, at + np.array([0.0, -200.0]), 2.5)  # 20 mm
    assert refusal.value.kind == "correction-too-far"


def test_nonsense_is_refused() -> None:
    before, sight = straight(), square_on()
    with pytest.raises(ScribeError) as refusal:
        pulled(before, sight, sight.outline_px[100], np.array([1000.0, 0.0]), 2.5)
    assert refusal.value.kind == "correction-too-far"
    with pytest.raises(ScribeError) as refusal:
        cut_off(before, sight, sight.outline_px[3], "end")
    assert refusal.value.kind == "correction-leaves-nothing"
