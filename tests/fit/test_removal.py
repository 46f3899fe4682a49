"""Peaks and hollows that a fitter would find with a rule, and none that are only noise."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from scribe.fit.removal import LEAST_PROMINENCE_MM, turning_points


def turns(depth, least=LEAST_PROMINENCE_MM):
    depth = np.array(depth, float)
    return turning_points(np.arange(len(depth), dtype=float), depth, np.full(len(depth), least))


def test_a_hill_is_a_hollow_of_the_wood_and_a_dip_a_peak():
    assert turns([0, 1, 3, 1, 0]) == [(2, "hollow")]
    assert turns([3, 1, 0, 1, 3]) == [(2, "peak")]
    assert turns([0, 3, 0, 3, 0]) == [(1, "hollow"), (2, "peak"), (3, "hollow")]


def test_a_flat_one_is_given_at_its_middle():
    assert turns([0, 2, 2, 2, 2, 2, 0]) == [(3, "hollow")]


def test_ends_and_slopes_do_not_count():
    assert turns([0, 1, 2, 3]) == []
    assert turns([3, 2, 1]) == []
    assert turns([1, 1, 1]) == []


def test_noise_below_its_own_uncertainty_is_left_out():
    assert turns([0, 1, 0.9, 2, 1.85, 3, 0]) == [(5, "hollow")]
    assert len(turns([0, 1, 0.9, 2, 1.85, 3, 0], least=0.05)) == 5


@given(st.lists(st.floats(0, 30), min_size=2, max_size=40))
def test_turns_alternate_and_stand_out(depth):
    found = turns(depth)
    kinds = [kind for _, kind in found]
    assert all(one != other for one, other in itertools.pairwise(kinds))
    values = [depth[n] for n, _ in found]
    steps = np.abs(np.diff(values))
    assert (steps > LEAST_PROMINENCE_MM).all()
