"""Checked cuts of known shape: `python -m tests.honesty.cuts` prints whether U and moves hold.

Seeded walls (waves of 60 to 600 mm, or stones of 12 to 60 mm), an edge that was cut along each
with faults of some tenths and a slip along it, and that edge measured with what a photo leaves:
each point's own noise, and errors that all points share (a stretch, a bow, and where the sheet
lay). A deviation holds when it lies within U of that of the same edge measured without error.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scribe.fit.check.compare import Lay, Width, compare
from scribe.fit.check.moved import best_move
from scribe.fit.piece import fit_piece
from scribe.geom.frames import turned
from scribe.geom.polyline import normals
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, CutEdge, Piece, Polygon

LONG, STEP = 600.0, 1.0
OWN, STRETCH, BOW, PLACE = 0.04, 3e-4, 0.06, 0.2  # mm; STRETCH mm on a mm
WAVES = {"waves": (60.0, 600.0, 2.0), "stones": (12.0, 60.0, 0.6)}  # mm, mm, mm of each


def wall(kind: str, rng: np.random.Generator) -> tuple[Piece, CutEdge]:
    """A strip fitted to a wall of six waves, cleared by 0.5 mm."""
    low, high, size = WAVES[kind]
    x = np.arange(0.0, LONG + STEP / 2, STEP)
    y = sum(
        rng.normal(0.0, size) * np.sin(2 * np.pi * (x / rng.uniform(low, high) + rng.random()))
        for _ in range(6)
    )
    outline = Outline(np.column_stack([x, y]), np.full(len(x), 1e-3), "left")
    high_y = float(np.ptp(y)) + 80.0
    blank = Blank(Polygon(np.array([[0.0, 0], [LONG, 0], [LONG, high_y], [0, high_y]])))
    piece = fit_piece(PieceJob("strip", blank, (EdgeJob("wall", "top", 0.5),)), {"wall": outline})
    return piece, replace(piece.cuts[0], u=np.zeros(len(piece.cuts[0].line)))


def as_cut(cut: CutEdge, slip: float, rng: np.random.Generator) -> np.ndarray:
    """The line with faults of some tenths across it, cut so far along from where it belongs."""
    x = cut.line[:, 0]
    at = np.linspace(x[0], x[-1], 12)
    faults = np.interp(x, at, rng.normal(0.0, 0.25, len(at)))
    moved = cut.line + faults[:, None] * normals(cut.line) + [slip, 0.0]
    return np.asarray(moved[(moved[:, 0] > x[0] + 4) & (moved[:, 0] < x[-1] - 4)])


def measured(edge: np.ndarray, rng: np.random.Generator) -> tuple[Outline, np.ndarray]:
    """The edge as a photo gives it, and the same without its errors, both where they lie."""
    t = np.linspace(-1.0, 1.0, len(edge))
    square = normals(edge)
    modes = {
        "stretch": STRETCH * (edge - edge.mean(axis=0))[None],
        "bow": BOW * ((t**2)[:, None] * square)[None],
        "place": PLACE * np.array([np.tile([1.0, 0], (len(t), 1)), np.tile([0, 1.0], (len(t), 1))]),
    }
    errors = sum(
        np.einsum("k,knd->nd", rng.normal(0.0, 1.0, len(each)), each) for each in modes.values()
    )
    noisy = edge + errors + rng.normal(0.0, OWN, len(t))[:, None] * square
    budget = {
        name: np.sqrt((np.einsum("knd,nd->kn", each, square) ** 2).sum(axis=0))
        for name, each in modes.items()
    }
    budget["own"] = np.full(len(t), OWN)
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(noisy, u, "left", budget=budget, shared=modes), edge


def deviations(kind: str, lay: Lay, widths: bool, runs: int, seed: int) -> tuple[float, float]:
    """Share of the deviations within U, and the median of U, mm."""
    rng, within, U = np.random.default_rng(seed), [], []
    for _ in range(runs):
        piece, cut = wall(kind, rng)
        edge, truth = measured(as_cut(cut, 0.0, rng), rng)
        exact = Outline(truth, np.full(len(truth), 1e-3), "left")
        if lay != "piece":
            away = turned(rng.uniform(-0.3, 0.3), rng.uniform(-90, 90, 2))
            edge = edge.with_(
                points=away.apply(edge.points),
                shared={name: away.turn(modes) for name, modes in edge.shared.items()},
            )
        at = np.array([60.0, LONG - 60.0])
        own = [Width(float(s), float(np.interp(s, *truth.T) + rng.normal(0, 0.15))) for s in at]
        found = compare(cut, edge, lay, own if widths else (), piece.keep)
        right = compare(cut, exact, "piece" if widths else lay)
        station = found.station[(found.station > 20.0) & (found.station < LONG - 20.0)]
        one, other = (np.interp(station, each.station, each.deviation) for each in (found, right))
        u = np.interp(station, found.station, found.u)
        within += (np.abs(one - other) <= 2.0 * u).tolist()
        U += (2.0 * u).tolist()
    return float(np.mean(within)), float(np.median(U))


def moves(kind: str, runs: int, seed: int) -> tuple[float, float, float]:
    """How far the shift is off the slip (median, mm); share of the gaps told that the true edge
    keeps to within U; and what the moves save: median of the gap after over the gap before.
    """
    rng, off, held, saved = np.random.default_rng(seed), [], [], []
    for _ in range(runs):
        piece, cut = wall(kind, rng)
        slip = float(rng.uniform(-3.0, 3.0))
        edge, truth = measured(as_cut(cut, slip, rng), rng)
        found = compare(cut, edge, "piece")
        move = best_move(cut, found.edge, piece, 1.0)
        off.append(move.along + slip)
        # The same move of the true edge, found again by allowing nothing else.
        shifted = truth + np.array([move.along, 0.0])
        arm = (shifted[:, 0] - truth[[0, -1], 0].mean()) / float(np.ptp(truth[:, 0]))
        shifted[:, 1] += move.turn * arm
        true_gap = best_move(cut, shifted, piece, 1.0, along=0.0, turn=0.0).gap
        U = 2.0 * float(np.median(found.u)) * np.sqrt(2.0)
        held.append(true_gap <= move.gap + U)
        before = best_move(cut, truth, piece, 1.0, along=0.0, turn=0.0).gap
        saved.append(true_gap / before)
    return float(np.median(np.abs(off))), float(np.mean(held)), float(np.median(saved))


def main(runs: int = 24) -> None:
    """Print both tables."""
    print("| wall | laid | deviations within U | U (median) |\n|---|---|---|---|")
    ways: tuple[tuple[str, Lay, bool], ...] = (
        ("free", "free", False), ("ends", "ends", False), ("free, two widths", "free", True),
        ("piece", "piece", False),
    )  # fmt: skip
    for kind in WAVES:
        for name, lay, widths in ways:
            share, U = deviations(kind, lay, widths, runs, seed=11)
            print(f"| {kind} | {name} | {100 * share:.1f} % | {U:.2f} mm |")
    print("\n| wall | shift off the slip (median) | gap kept within U | gap after over before |")
    print("|---|---|---|---|")
    for kind in WAVES:
        off, held, saved = moves(kind, runs // 2, seed=12)
        print(f"| {kind} | {off:.2f} mm | {100 * held:.0f} % | {saved:.2f} |")


if __name__ == "__main__":
    main()
