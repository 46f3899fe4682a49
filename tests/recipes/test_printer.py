"""The print scale by a bank card in the window of a sheet that was printed too small."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.capture.sheet.card import fit_card
from scribe.errors import ScribeError
from scribe.print_scale import read_printer
from scribe.recipes.printer import by_card, keep_printer
from scribe.standards import CARD_MM
from tests.scenes.card import card_scene

PRINTED = (0.9962, 1.0031)


@pytest.mark.parametrize(
    ("seed", "turn"),
    [(6, 0.05), (4, 1.45), (5, 0.6), pytest.param(26, -0.9, marks=pytest.mark.slow)],
)
def test_a_card_tells_both_axes(seed: int, turn: float, tmp_path: Path) -> None:
    scene = card_scene(seed, turn=turn, megapixels=4, tilt_deg=10.0, print_scale=PRINTED)
    found = by_card(scene.write(tmp_path))
    assert max(found.u) < 0.0025
    for factor, u, true in zip(found.factors, found.u, PRINTED, strict=True):
        assert abs(factor - true) <= 2.0 * u
    if seed == 6:
        path, _ = keep_printer(None, tmp_path / "line-6.jpg", tmp_path / "p.toml", force=False)
        kept = read_printer(path)
        assert kept.factors == pytest.approx(found.factors)
        assert kept.u_x > found.u_x


def test_the_fit_is_exact_for_exact_sides() -> None:
    """Sides of a turned card, shrunk by known factors along x and y, give these factors back."""
    turn, factors = 0.4, np.array([0.994, 1.004])
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    half = np.array(CARD_MM) / 2.0
    corners = (np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half) @ rotation.T + [90.0, 120.0]
    part = np.linspace(0.1, 0.9, 30)[:, None]
    sides = [(corners[k] + part * (corners[(k + 1) % 4] - corners[k])) / factors for k in range(4)]
    found = fit_card(sides, corners / factors, 0.0)
    assert found.factors == pytest.approx(tuple(factors), abs=1e-9)
    # A card 0.087 mm (u) off in length and in width: 0.1 and 0.16 % of them, mixed by the turn.
    assert 0.0009 < found.u[0] < 0.0017


def test_without_a_card_it_is_refused(tmp_path: Path) -> None:
    scene = card_scene(7, turn=0.0, light=0.8, megapixels=2)
    with pytest.raises(ScribeError) as caught:
        by_card(scene.write(tmp_path))
    assert caught.value.kind == "card-not-found"
