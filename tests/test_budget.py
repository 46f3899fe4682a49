"""The rows of a budget: sizes, kinds and shares."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.budget import MEANING, entries, in_words
from scribe.outline import Outline


def outline() -> Outline:
    """Five points: pose 0.03 everywhere, lens 0.04 times 0, 1, 1, 1, 3; so u is 0.03, 0.05 (x 3)
    and sqrt(0.0009 + 0.0144) = 0.1237.
    """
    points = np.column_stack([np.arange(5.0), np.zeros(5)])
    budget = {"pose": np.full(5, 0.03), "lens": 0.04 * np.array([0.0, 1.0, 1.0, 1.0, 3.0])}
    return Outline(points, np.sqrt(sum(part**2 for part in budget.values())), "left", budget=budget)


def test_shares_at_the_usual_and_the_worst_point() -> None:
    """At u = 0.05: 36 and 64 %. At the worst: 0.0009 / 0.0153 = 5.9 % and 94.1 %."""
    lens, pose = entries(outline())
    assert (lens.name, lens.kind, pose.name, pose.kind) == ("lens", "B", "pose", "A")
    assert [lens.share_median, pose.share_median] == pytest.approx([64.0, 36.0])
    assert [lens.share_worst, pose.share_worst] == pytest.approx([94.118, 5.882], abs=1e-3)
    assert [lens.u_median, lens.u_worst] == pytest.approx([0.04, 0.12])
    assert in_words(entries(outline())) == (
        "lens 64 % (how the lens bends the picture), pose 36 % (where the camera was); "
        "at the worst point lens 94 %, pose 6 %"
    )


def test_nothing_is_said_of_parts_nobody_knows() -> None:
    assert entries(outline().with_(budget={})) == ()
    assert in_words(()) == "only the total is known"


def test_an_outline_without_any_u_has_no_shares() -> None:
    none = outline().with_(u=np.zeros(5), budget={"pose": np.zeros(5)})
    assert [row.share_worst for row in entries(none)] == [0.0]


def test_every_meaning_has_a_kind_of_the_guide() -> None:
    assert {kind for kind, _ in MEANING.values()} == {"A", "B"}
