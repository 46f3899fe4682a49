"""What marks, tape and edges make of joined sheets, against drawn lots and a closed formula."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import numpy as np
import pytest

from scribe.geom.joined import Joined

U, STEP, ARM, SHEETS = 0.06, 260.0, 55.0, 6
DRAWS = 40_000
# Two standard deviations' ratio of so many draws scatters by 1 / sqrt(2 N): 0.35 %; four of those.
NOISE = 4.0 / (2.0 * DRAWS) ** 0.5
FAR = np.array([STEP * SHEETS, 0.0])


def marks(joint: int) -> np.ndarray:
    """(2, 2) of the joint after that sheet, one on either side of the line."""
    return np.array([[STEP * (joint + 1), -ARM], [STEP * (joint + 1), ARM]])


def chain(sheets: int = SHEETS) -> Joined:
    joined = Joined(sheets)
    joined.fix(0)
    for joint in range(sheets - 1):
        for at in marks(joint):
            joined.meet(joint, joint + 1, at, U)
    return joined


def far(joined: Joined, way: tuple[float, float]) -> float:
    return float(joined.u(np.array([joined.count - 1]), FAR[None], np.array([way]))[0])


def drawn_lots(seed: int) -> np.ndarray:
    """(DRAWS, 2) where the far end comes to lie when sheet after sheet is laid by hand: each new
    one is turned and shifted as a whole until its two marks are as near as they go to those of the
    sheet before, which are seen U off. Turns are whole turns here, nothing is linear.
    """
    lots = np.random.default_rng(seed)
    ends = np.broadcast_to(FAR, (DRAWS, 2))
    for joint in reversed(range(SHEETS - 1)):  # everything beyond a joint moves with its sheet
        at = marks(joint)
        seen = at + lots.normal(0.0, U, (DRAWS, 2, 2))
        across = seen[:, 1] - seen[:, 0]
        turn = np.arctan2(across[:, 1], across[:, 0]) - np.pi / 2.0
        off = ends - at.mean(axis=0)
        cosine, sine = np.cos(turn), np.sin(turn)
        turned = np.column_stack(
            [cosine * off[:, 0] - sine * off[:, 1], sine * off[:, 0] + cosine * off[:, 1]]
        )
        ends = seen.mean(axis=1) + turned
    return ends - FAR


def test_a_chain_by_drawn_lots() -> None:
    ends = drawn_lots(1)
    assert ends[:, 1].std() == pytest.approx(far(chain(), (0.0, 1.0)), rel=NOISE)
    assert ends[:, 0].std() == pytest.approx(far(chain(), (1.0, 0.0)), rel=NOISE)
    assert abs(ends.mean(axis=0)).max() < 4.0 * ends.std(axis=0).max() / DRAWS**0.5 + 0.01


def test_a_straight_chain_by_its_formula() -> None:
    """Two marks 2 a apart, each known to u: the joint's middle to u / sqrt 2, its turn to
    u / (a sqrt 2), and a turn moves the end by turn times distance. Squares add up.
    """
    expected = 0.0
    for joint in range(SHEETS - 1):
        distance = STEP * (SHEETS - joint - 1)
        expected += U**2 / 2.0 + (U / ARM) ** 2 / 2.0 * distance**2
    assert far(chain(), (0.0, 1.0)) == pytest.approx(expected**0.5, rel=1e-3)
    along = (SHEETS - 1) ** 0.5 * U / 2.0**0.5
    assert far(chain(), (1.0, 0.0)) == pytest.approx(along, rel=1e-3)


def test_the_tape_by_drawn_lots() -> None:
    """A chain round a corner, where the tape sees turns: only those lots count in which it reads
    right, weighed by how probable that reading is.
    """
    u_tape, start, corner = 0.1, np.array([0.0, -300.0]), np.array([STEP * SHEETS, 0.0])
    joined = chain()
    before = far(joined, (0.0, 1.0))
    joined.apart(0, start, SHEETS - 1, corner, u_tape)
    ends = drawn_lots(2)
    length = np.hypot(*(corner + ends - start).T) - hypot(*(corner - start))
    weight = np.exp(-0.5 * (length / u_tape) ** 2)
    assert weight.sum() ** 2 / (weight**2).sum() > 5000.0  # lots that count
    seen = float(np.sqrt(np.average(ends[:, 1] ** 2, weights=weight)))
    assert seen == pytest.approx(far(joined, (0.0, 1.0)), rel=4.0 / (2.0 * 5000.0) ** 0.5)
    assert far(joined, (0.0, 1.0)) < 0.9 * before


def test_a_tape_along_a_straight_chain_says_nothing_of_turns() -> None:
    joined = chain()
    before = far(joined, (0.0, 1.0))
    joined.apart(0, np.zeros(2), SHEETS - 1, FAR, 0.01)
    assert far(joined, (0.0, 1.0)) == pytest.approx(before, rel=1e-6)
    assert far(joined, (1.0, 0.0)) < 0.011


def test_an_edge_laid_on_holds_a_sheet_across_and_not_along() -> None:
    """Two ends of a stretch known to u: its middle to u / sqrt 2."""
    joined = Joined(1)
    for x in (0.0, 200.0):
        joined.lie(0, np.array([x, 0.0]), np.array([0.0, 1.0]), 0.14)
    middle = np.array([[100.0, 0.0]])
    found = joined.u(np.array([0]), middle, np.array([[0.0, 1.0]]))[0]
    assert found == pytest.approx(0.14 / 2.0**0.5, rel=1e-3)
    assert joined.u(np.array([0]), middle, np.array([[1.0, 0.0]]))[0] > 100.0


def test_more_seen_is_never_worse() -> None:
    joined = chain()
    known = [far(joined, (0.0, 1.0))]
    for sheet in range(1, SHEETS):
        joined.lie(sheet, np.array([STEP * sheet, -60.0]), np.array([0.0, 1.0]), 0.14)
        known.append(far(joined, (0.0, 1.0)))
    assert all(b <= a + 1e-12 for a, b in pairwise(known))
