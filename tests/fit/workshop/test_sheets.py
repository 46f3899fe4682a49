"""Sawing plans: replayed cut by cut on a sheet, and held against bounds and known answers."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.cutting import Board, Box, CuttingPlan, Layout, Part, Sheet
from scribe.errors import ScribeError
from scribe.fit.workshop.boards import cut_boards
from scribe.fit.workshop.sheets import _least, cut_sheets, strips_of_plank

KERF = 3.0
SHEET = Sheet("MDF 18", 2440.0, 1220.0, trim=10.0)


def listed(*parts: Part) -> list[tuple[int, Part]]:
    return list(enumerate(parts))


def replay(layout: Layout) -> list[tuple[float, float, float, float]]:
    """The pieces that lie on the bench when every cut was made, each right through one piece."""
    pieces = [(0.0, 0.0, layout.length, layout.width)]
    for cut in layout.cuts:
        b = cut.blade
        (hit,) = [p for p in pieces if inside((b.x, b.y, b.x + b.length, b.y + b.width), p)]
        x0, y0, x1, y1 = hit
        pieces.remove(hit)
        if cut.rips:
            assert (b.x, b.x + b.length) == pytest.approx((x0, x1)), "a rip stops in the piece"
            parted = [(x0, y0, x1, b.y), (x0, b.y + b.width, x1, y1)]
        else:
            assert (b.y, b.y + b.width) == pytest.approx((y0, y1)), "a cut stops in the piece"
            parted = [(x0, y0, b.x, y1), (b.x + b.length, y0, x1, y1)]
        pieces += parted
    return pieces


def inside(small: tuple[float, ...], large: tuple[float, ...]) -> bool:
    return (
        small[0] >= large[0] - 1e-6 and small[1] >= large[1] - 1e-6
        and small[2] <= large[2] + 1e-6 and small[3] <= large[3] + 1e-6
    )  # fmt: skip


def corners(box: Box) -> tuple[float, float, float, float]:
    return box.x, box.y, box.x + box.length, box.y + box.width


def hold(plan: CuttingPlan, parts: list[Part], sheet: Sheet) -> None:
    """Every part is a piece of the replayed sawing, as often as wanted, off the factory edges."""
    got = [0] * len(parts)
    for layout in plan.layouts:
        pieces = replay(layout)
        for placed in layout.placed:
            part, box = parts[placed.part], placed.box
            got[placed.part] += layout.times
            assert any(corners(box) == pytest.approx(p, abs=1e-6) for p in pieces), part.name
            size = (box.length, box.width)
            straight = size == pytest.approx((part.length, part.width))
            assert straight or (part.turns and size == pytest.approx((part.width, part.length)))
            usable = (sheet.trim, sheet.trim, sheet.length - sheet.trim, sheet.width - sheet.trim)
            assert inside(corners(box), usable)
        for cut in layout.cuts:
            assert min(cut.blade.length, cut.blade.width) <= KERF + 1e-6
        spots = [corners(placed.box) for placed in layout.placed]
        for n, one in enumerate(spots):
            for other in spots[:n]:
                apart = max(one[0] - other[2], other[0] - one[2], one[1] - other[3],
                            other[1] - one[3])  # fmt: skip
                assert apart >= KERF - 1e-6, "no room for the blade between two parts"
    assert got == [part.count for part in parts]
    assert sum(layout.times for layout in plan.layouts) == plan.used


PARTS = st.lists(
    st.tuples(st.integers(80, 1200), st.integers(50, 900), st.integers(1, 4), st.booleans()),
    min_size=1, max_size=7,
)  # fmt: skip


@settings(max_examples=12)
@given(PARTS, st.sampled_from([0.0, 2.0, 10.0]))
def test_every_plan_can_be_sawn(rows: list[tuple[int, int, int, bool]], trim: float) -> None:
    sheet = Sheet("MDF 18", 2440.0, 1220.0, trim=trim)
    parts = [Part(f"p{n}", "MDF 18", *row[:2], row[2], turns=row[3]) for n, row in enumerate(rows)]
    plan = cut_sheets(listed(*parts), [sheet], KERF)
    hold(plan, parts, sheet)
    # Parts grown by the blade don't overlap in a sheet grown by it.
    area = sum(p.count * (p.length + KERF) * (p.width + KERF) for p in parts)
    usable = (2440 - 2 * trim + KERF) * (1220 - 2 * trim + KERF)
    assert plan.used >= area / usable - 1e-9
    # A bound that a plan undercuts is none.
    assert _least(parts, sheet, KERF) <= plan.used


def test_a_sheet_that_four_parts_fill_to_the_last_saw_cut() -> None:
    # 2 x 1208.5 + 3 = 2420 = 2440 - 20, and 2 x 598.5 + 3 = 1200: nothing is left, one sheet.
    part = Part("door", "MDF 18", 1208.5, 598.5, 4)
    plan = cut_sheets(listed(part), [SHEET], KERF)
    assert plan.used == 1
    assert plan.proven
    hold(plan, [part], SHEET)
    # A tenth of a millimetre more, and the blade has no room: two sheets.
    wider = Part("door", "MDF 18", 1208.6, 598.5, 4)
    assert cut_sheets(listed(wider), [SHEET], KERF).used == 2


def test_grain_keeps_a_part_from_turning() -> None:
    # 1300 x 1100 lies twice on a sheet of 2440 only when turned (2 x 1100 + 3 <= 2420 but
    # 2 x 1300 > 2420; and 1300 > 1200 across the width, so it doesn't turn at all).
    grained = Part("panel", "MDF 18", 1100.0, 1190.0, 2)
    assert cut_sheets(listed(grained), [SHEET], KERF).used == 1
    along = Part("panel", "MDF 18", 1190.0, 1250.0, 1)
    with pytest.raises(ScribeError) as refused:
        cut_sheets(listed(along), [SHEET], KERF)
    assert refused.value.kind == "part-too-large"
    turning = Part("panel", "MDF 18", 1190.0, 1250.0, 1, turns=True)
    hold(cut_sheets(listed(turning), [SHEET], KERF), [turning], SHEET)


def test_large_parts_need_a_sheet_each_though_their_area_would_not() -> None:
    # 1300 x 650 four times: 3.4 m2 of 2.98 each by area 2 sheets, but no two go side by side in
    # either direction (2 x 650 > 1200, 2 x 1300 > 2420): four sheets, and that is proven.
    part = Part("top", "MDF 18", 1300.0, 650.0, 4)
    plan = cut_sheets(listed(part), [SHEET], KERF)
    assert plan.used == 4
    assert plan.proven


def test_the_sheet_that_takes_less_area_is_sawn() -> None:
    part = Part("shelf", "MDF 18", 1190.0, 590.0, 2)
    half = Sheet("MDF 18", 1220.0, 1220.0, trim=10.0)
    plan = cut_sheets(listed(part), [SHEET, half], KERF)
    assert plan.layouts[0].length == 1220.0


def test_no_more_sheets_than_there_are() -> None:
    part = Part("top", "MDF 18", 1300.0, 650.0, 3)
    with pytest.raises(ScribeError) as refused:
        cut_sheets(listed(part), [Sheet("MDF 18", 2440.0, 1220.0, count=2)], KERF)
    assert refused.value.kind == "stock-too-little"


@settings(max_examples=12)
@given(
    st.lists(st.tuples(st.integers(90, 1500), st.integers(1, 4)), min_size=1, max_size=8),
    st.sampled_from([0.0, 15.0]),
)
def test_boards_are_cut_end_to_end(rows: list[tuple[int, int]], trim: float) -> None:
    parts = [Part(f"rail {n}", "pine", float(size), count=k) for n, (size, k) in enumerate(rows)]
    boards = [Board("pine", 2400.0, trim), Board("pine", 3000.0, trim)]
    plan = cut_boards(listed(*parts), boards, KERF)
    got = [0] * len(parts)
    for layout in plan.layouts:
        spots = sorted((each.box.x, each.box.x + each.box.length) for each in layout.placed)
        assert spots[0][0] == trim
        assert spots[-1][1] <= layout.length - trim + 1e-6
        gaps = [b[0] - a[1] for a, b in pairwise(spots)]
        assert gaps == pytest.approx([KERF] * len(gaps))
        for each in layout.placed:
            got[each.part] += layout.times
    assert got == [part.count for part in parts]


def test_a_board_ends_with_its_last_part() -> None:
    # 3 x 798 + 2 x 3 = 2400: no blade is needed after the last one.
    part = Part("rail", "pine", 798.0, count=3)
    plan = cut_boards(listed(part), [Board("pine", 2400.0)], KERF)
    assert (plan.used, len(plan.layouts[0].cuts)) == (1, 2)
    with pytest.raises(ScribeError) as refused:
        cut_boards(listed(Part("rail", "pine", 2400.1)), [Board("pine", 2400.0)], KERF)
    assert refused.value.kind == "part-too-large"


@given(st.floats(60, 600), st.floats(10, 120), st.sampled_from([0.0, 2.4, 4.0]))
def test_strips_of_a_plank(width: float, strip: float, kerf: float) -> None:
    count, left = strips_of_plank(width, strip, kerf)
    assert count * strip + max(0, count - 1) * kerf <= width + 1e-6
    assert (count + 1) * strip + count * kerf > width - 1e-5
    assert left >= 0.0


def test_a_plan_cut_short_by_time_still_holds_every_part(monkeypatch: pytest.MonkeyPatch) -> None:
    # No time at all: strips and sheets come from the linear plan rounded up.
    monkeypatch.setattr("scribe.fit.workshop.patterns._SECONDS", 0.0)
    parts = [
        Part("a", "MDF 18", 1200.0, 430.0, 3),
        Part("b", "MDF 18", 760.0, 250.0, 5),
        Part("c", "MDF 18", 1900.0, 610.0, 2),
    ]
    hold(cut_sheets(listed(*parts), [SHEET], KERF), parts, SHEET)
