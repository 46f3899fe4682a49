"""Sag of shelves against arithmetic by hand, and the cures against what they promise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scribe.errors import ScribeError
from scribe.fit.workshop.stiffness import CURE_BREADTH, CURE_MATERIAL, sagging
from scribe.materials import MATERIALS
from scribe.member import Lipping, Member

SHELF = Member("shelf", (900.0,), 300.0, 18.0, "MDF", per_metre=30.0)


def test_a_shelf_worked_by_hand() -> None:
    # EI = 2600 x 300 x 18^3/12 = 3.7908e8; own weight 780e-9 x 300 x 18 x 9.80665 = 0.041306 N/mm,
    # books 0.030 x 9.80665 = 0.294200; 5 w L^4 / (384 EI) = 5 x 0.335506 x 6.561e11 / 1.455667e11
    # = 7.5611; shear w L^2 / (8 x 5/6 x 162.5 x 5400) = 0.335506 x 8.1e5 / 5.85e6 = 0.0465.
    sag = sagging(SHELF)
    assert sag.first.typical == pytest.approx(7.5611 + 0.0465, abs=5e-4)
    assert sag.lasting.typical == pytest.approx(3.25 * sag.first.typical, rel=1e-9)
    assert sag.first.most / sag.first.typical == pytest.approx(2600 / 2150, rel=1e-9)
    assert sag.shear == pytest.approx(0.0465 / 7.6076, abs=1e-4)
    assert sag.allowed == 4.5
    assert sag.verdict == "sags"


def test_a_steel_flat_takes_over_what_the_wood_lets_go() -> None:
    flat = Lipping("steel", 5.0, 30.0)
    sag = sagging(replace(SHELF, lipping=flat))
    assert sag.lasting.typical < sagging(SHELF).lasting.typical / 4
    assert sag.lasting.typical < 3.25 * sag.first.typical  # steel doesn't creep
    # Steel alone: EI = 210000 x 5 x 30^3/12 = 2.3625e9 is a lower bound of the two together.
    alone = 5 * (0.335506 + 7850e-9 * 150 * 9.80665) * 900.0**4 / (384 * 2.3625e9)
    assert sag.lasting.typical < alone * 1.02  # but for the shear


def test_every_cure_keeps_the_limit_and_a_millimetre_less_does_not() -> None:
    sag = sagging(SHELF)
    assert sag.thickness is not None
    assert sag.lipping is not None
    assert sag.bay_length is not None

    def most(member: Member) -> float:
        found = sagging(member)
        return found.lasting.most / found.allowed

    def lipped(height: float) -> Member:
        return replace(SHELF, lipping=Lipping(CURE_MATERIAL, CURE_BREADTH, height))

    assert most(replace(SHELF, thickness=sag.thickness)) <= 1.0
    assert most(replace(SHELF, thickness=sag.thickness - 1.0)) > 1.0
    assert most(lipped(sag.lipping)) <= 1.0
    assert most(lipped(sag.lipping - 1.0)) > 1.0
    assert most(replace(SHELF, bays=(sag.bay_length,))) <= 1.0
    assert most(replace(SHELF, bays=(sag.bay_length + 1.0,))) > 1.0


def test_one_loaded_bay_of_two_is_the_worst_case() -> None:
    # Tables: 0.0092 w L^4/EI with one bay loaded against 0.0054 with both (see the beam's test),
    # so the sag lies between what both bays give and what a single span gives.
    two = sagging(replace(SHELF, bays=(900.0, 900.0))).first.typical
    one = sagging(SHELF).first.typical
    assert 0.0054 / 0.0130 * one < two < one
    assert two / one == pytest.approx(0.0092 / 0.0130, abs=0.05)  # own weight lies on both


def test_what_holds_needs_no_cure() -> None:
    short = sagging(replace(SHELF, bays=(300.0,)))
    assert short.verdict == "holds"
    assert (short.thickness, short.lipping, short.bay_length) == (None, None, None)
    clamped = sagging(replace(SHELF, ends="clamped"))
    assert clamped.first.typical < sagging(SHELF).first.typical / 4


def test_more_bays_than_can_be_combined_are_refused() -> None:
    with pytest.raises(ScribeError) as refused:
        sagging(replace(SHELF, bays=(500.0,) * 7))
    assert refused.value.kind == "member-bays"


@pytest.mark.parametrize("name", MATERIALS)
def test_a_material_has_an_ordered_range_and_a_source(name: str) -> None:
    material = MATERIALS[name]
    assert 0 < material.low <= material.typical <= material.high
    assert "memory" in material.source or "no source" in material.source


def test_the_wood_handbook_in_pounds_gives_the_same() -> None:
    # Table 5-3b of the Wood Handbook has x10^6 lbf/in^2 (from memory), 1 lbf/in^2 = 6.894757e-3
    # N/mm^2; the metric table is rounded to 100.
    for name, million in (("red oak", 1.82), ("sugar maple", 1.83), ("Douglas-fir, coast", 1.95),
                          ("white oak", 1.78), ("American beech", 1.72)):  # fmt: skip
        assert MATERIALS[name].typical == pytest.approx(million * 6894.757, abs=60)
