"""Where marks lie: our sheets by their promises."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.target import NUMBER_BASE, PLACE_BASE, STRIPS_TO_A_PAGE, Form, page, window_sheet

OURS = [(paper, form) for paper, form in PLACE_BASE]


@pytest.mark.parametrize(("paper", "form"), OURS)
def test_every_place_is_said_once_and_belongs_to_one_kind_of_sheet(paper: str, form: Form) -> None:
    limits = [*sorted(PLACE_BASE.values()), NUMBER_BASE]
    base = PLACE_BASE[paper, form]
    after = limits[limits.index(base) + 1]
    for target, _ in page(paper, form, 3).targets:
        places = target.ids[target.is_place]
        assert len(set(places.tolist())) == len(places)
        assert base <= places.min()
        assert places.max() < after
        assert set(target.ids[~target.is_place].tolist()) == {NUMBER_BASE + target.number - 1}


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_each_side_of_the_ring_says_place_and_number(paper: str) -> None:
    target = window_sheet(paper, 1)
    centres = target.markers.mean(axis=1)
    assert target.window is not None
    x0, y0, x1, y1 = target.window
    for side in (
        centres[:, 0] < x0,
        centres[:, 0] > x1,
        centres[:, 1] < y0,
        centres[:, 1] > y1,
    ):
        kinds = target.is_place[side]
        assert kinds.sum() >= len(kinds) / 3
        assert (~kinds).sum() >= len(kinds) / 3


@pytest.mark.parametrize(("paper", "form"), OURS)
def test_crossings_lie_between_black_and_white(paper: str, form: Form) -> None:
    target = page(paper, form, 1).targets[0][0]

    def black(points: np.ndarray) -> np.ndarray:
        x, y = points[:, :1], points[:, 1:]
        boxes = target.squares
        inside = (boxes[:, 0] < x) & (x < boxes[:, 2]) & (boxes[:, 1] < y) & (y < boxes[:, 3])
        return np.asarray(inside.any(axis=1))

    steps = [np.array([dx, dy]) for dx in (-0.1, 0.1) for dy in (-0.1, 0.1)]
    corner = [black(target.crossings + step) for step in steps]
    assert np.array_equal(corner[0], corner[3])
    assert np.array_equal(corner[1], corner[2])
    assert np.array_equal(corner[0], ~corner[1])


def test_strips_of_all_pages_are_numbered_singly() -> None:
    numbers = [t.number for copy in (1, 2) for t, _ in page("A4", "strip", copy).targets]
    assert numbers == list(range(1, 2 * STRIPS_TO_A_PAGE + 1))


def test_paper_without_a_target_is_refused() -> None:
    with pytest.raises(ScribeError) as refusal:
        page("A5", "window", 1)
    assert refusal.value.kind == "target-paper"


@pytest.mark.parametrize("copy", [0, 701])
def test_number_that_no_marker_can_say_is_refused(copy: int) -> None:
    with pytest.raises(ScribeError) as refusal:
        page("A4", "window", copy)
    assert refusal.value.kind == "target-number"
