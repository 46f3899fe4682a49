"""Deflections against handbook tables and against finite differences."""

from __future__ import annotations

from itertools import product
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.beam import Ends, Load, _between, _nodes, largest_sag

L, EI, W, P = 900.0, 3.1e9, 0.3, 270.0
EVEN, MIDDLE, NONE = Load(even=W), Load(middle=P), Load()


@pytest.mark.parametrize(
    ("ends", "load", "value"),
    # Beam tables of every handbook of structures: 5/384, 1/48, 1/384, 1/192.
    [
        ("supported", EVEN, 5 * W * L**4 / 384),
        ("supported", MIDDLE, P * L**3 / 48),
        ("clamped", EVEN, W * L**4 / 384),
        ("clamped", MIDDLE, P * L**3 / 192),
    ],
)
def test_one_span(ends: Ends, load: Load, value: float) -> None:
    sag = largest_sag((L,), (load,), EI, inf, ends)
    assert sag.deflection == pytest.approx(value / EI, rel=1e-9)
    assert sag.at == pytest.approx(L / 2)


@pytest.mark.parametrize(
    ("loads", "coefficient", "at"),
    # Continuous beams of equal spans on supports, largest deflection as a multiple of w L^4/EI
    # and where, in spans (tables of the AISC manual, from memory; printed to 1e-4).
    [
        ((EVEN, EVEN), 0.0054, 0.4215),
        ((EVEN, NONE), 0.0092, 0.472),
        ((EVEN, EVEN, EVEN), 0.0069, 0.446),
        ((EVEN, NONE, EVEN), 0.0099, 0.479),
        ((EVEN, EVEN, EVEN, EVEN), 0.0065, 0.440),
    ],
)
def test_several_bays(loads: tuple[Load, ...], coefficient: float, at: float) -> None:
    sag = largest_sag((L,) * len(loads), loads, EI, inf, "supported")
    assert sag.deflection * EI / (W * L**4) == pytest.approx(coefficient, abs=6e-5)
    where = sag.at / L
    where = len(loads) - where if where > len(loads) / 2 else where
    assert where == pytest.approx(at, abs=1 / 80)  # the points looked at lie 1/80 of a span apart


def test_shear_of_a_short_deep_rail() -> None:
    # Even load adds w L^2/(8 GA), a middle load P L/(4 GA) (handbooks, Timoshenko).
    ga = 5.0e5
    even = largest_sag((L,), (EVEN,), EI, ga, "supported").deflection
    assert even == pytest.approx(5 * W * L**4 / (384 * EI) + W * L**2 / (8 * ga), rel=1e-9)
    middle = largest_sag((L,), (MIDDLE,), EI, ga, "clamped").deflection
    assert middle == pytest.approx(P * L**3 / (192 * EI) + P * L / (4 * ga), rel=1e-9)


def test_shear_between_the_nodes() -> None:
    # Supported, even load: v(x) = w x (L^3 - 2 L x^2 + x^3) / (24 EI) + w x (L - x) / (2 GA).
    ga = 5.0e5
    moved = _nodes(np.array([L / 2, L / 2]), (EVEN,), EI, ga, "supported")
    x = np.linspace(0.0, L / 2, 41)
    closed = W * x * (L**3 - 2 * L * x**2 + x**3) / (24 * EI) + W * x * (L - x) / (2 * ga)
    assert _between(moved[:4], L / 2, W, EI, ga) == pytest.approx(closed, rel=1e-9, abs=1e-12)


@settings(max_examples=15)  # dense solves
@given(
    st.lists(st.floats(300, 1500), min_size=1, max_size=3),
    st.sampled_from(list(product((0.0, 0.3), (0.0, 200.0)))[1:]),
    st.sampled_from(["supported", "clamped"]),
)
def test_against_finite_differences(
    spans: list[float], load: tuple[float, float], ends: Ends
) -> None:
    # EI v'''' = w on a grid, v = 0 at supports: second-order differences of the
    # deflection's energy. Only the first span is loaded. 40 steps a span: errors below 1 %.
    loads = (Load(*load), *(NONE for _ in spans[1:]))
    sag = largest_sag(tuple(spans), loads, EI, inf, ends)
    assert sag.deflection == pytest.approx(by_differences(spans, load, ends), rel=0.02)


def by_differences(spans: list[float], load: tuple[float, float], ends: str) -> float:
    """Minimal energy of a chain of little beams: sum EI (v''^2)/2 h - loads, supports held."""
    n = 40
    place = np.concatenate([[0.0], *(
        start + np.arange(1, n + 1) * span / n
        for start, span in zip(np.cumsum([0.0, *spans[:-1]]), spans, strict=True)
    )])  # fmt: skip
    count = len(place)
    bending, force = np.zeros((count, count)), np.zeros(count)
    for k in range(1, count - 1):
        a, b = place[k] - place[k - 1], place[k + 1] - place[k]
        row = np.zeros(count)
        row[k - 1 : k + 2] = 2 / (a * (a + b)), -2 / (a * b), 2 / (b * (a + b))
        bending += EI * (a + b) / 2 * np.outer(row, row)
    if ends == "clamped":  # half a step at each end, bent from level
        for k, other, h in ((0, 1, place[1]), (-1, -2, place[-1] - place[-2])):
            row = np.zeros(count)
            row[other], row[k] = 2 / h**2, -2 / h**2
            bending += EI * h / 2 * np.outer(row, row)
    h = spans[0] / n
    force[1:n] += load[0] * h
    force[n // 2] += load[1]
    free = [k for k in range(count) if k % n]
    v = np.zeros(count)
    v[free] = np.linalg.solve(bending[np.ix_(free, free)], force[free])
    return float(v.max())
