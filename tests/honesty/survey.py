"""Are surveys of rooms honest? `python -m tests.honesty.survey [rooms]` prints the figures.

A room's truth is drawn here in closed form (planes with twist and bow), its readings taken with
fresh noise of the stated size; nothing here is shared with what solves it but the typed readings.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from scribe.fit.opening.room_adjust import adjust
from scribe.room_survey import (
    Corner,
    DepthTaken,
    DiagonalTaken,
    HeightTaken,
    Instruments,
    LeanTaken,
    RoomSurvey,
    SlopeTaken,
    Taken,
    WidthTaken,
)

TAPE_U, LEVEL_U, FACE_U = 2.0, 1.5, 2.0  # mm, k = 2, stated and true
SPOTS = [(100.0, 0.0), (1200.0, 0.0), (2200.0, 0.0), (600.0, 340.0), (1700.0, 340.0)]


class Truth:
    """A room: x of the walls, y of floor and ceiling, z of the back, in closed form."""

    def __init__(self, rng: np.random.Generator) -> None:
        lean, splay, twist, bow = (rng.normal(0, s, 3) for s in (10.0, 4.0, 3.0, 2.0))
        self.wall = [
            lambda y, z, k=k, at=at: (
                at + lean[k] * y / 2400 + (splay[k] if at else splay[0]) * z / 350
                + twist[k] * (y / 2400) * (z / 350) + 4 * bow[k] * (y / 2400) * (1 - y / 2400)
            )
            for k, at in ((0, 0.0), (1, 1200.0))
        ]  # fmt: skip
        f, c = rng.normal(0, 5.0, 2), rng.normal(0, 6.0, 2)
        self.floor = lambda x, z: f[0] * x / 1200 + f[1] * z / 350
        self.ceiling = lambda x, z: 2400 + c[0] * x / 1200 + c[1] * z / 350
        b = rng.normal(0, 4.0, 2)
        self.back = lambda x, y: 350 + b[0] * x / 1200 + b[1] * y / 2400

    def width(self, up: float, z: float) -> float:
        y = self.floor(600, z) + up
        return float(self.wall[1](y, z) - self.wall[0](y, z))

    def corner(self, side: int, top: bool, back: bool) -> np.ndarray:
        x, y, z = 1200.0 * side, 0.0, 0.0
        for _ in range(20):
            y = (self.ceiling if top else self.floor)(x, z)
            x = self.wall[side](y, z)
            z = self.back(x, y) if back else 0.0
        return np.array([x, y, z])


def survey(truth: Truth, rng: np.random.Generator, wrong: tuple[int, float] | None = None,
           ) -> RoomSurvey:  # fmt: skip
    """The readings of a careful fitter: 6 widths, 6 heights, 4 depths, 4 diagonals, 4 leans."""
    rows: list[Taken] = []

    def add(
        kind: type[Taken], name: str, true: float, faces: int, U: float, **where: object
    ) -> None:
        noise = rng.normal(0, U / 2) + rng.normal(0, FACE_U / 2 * faces**0.5)
        rows.append(kind(name, name, true + noise, U, "tape", **where))

    for z in (0.0, 340.0):
        for up in (150.0, 1200.0, 2300.0):
            add(WidthTaken, f"width {up} {z}", truth.width(up, z), 2, TAPE_U, height=up, depth=z)
        for x in (30.0, 600.0, 1170.0):
            at = truth.wall[0](0.0, z) + x
            add(HeightTaken, f"height {x} {z}", truth.ceiling(at, z) - truth.floor(at, z), 2,
                TAPE_U, side="left", distance=x, depth=z)  # fmt: skip
    for x in (30.0, 1170.0):
        for up in (200.0, 2200.0):
            add(DepthTaken, f"depth {x} {up}", truth.back(x, truth.floor(x, 350) + up), 1, TAPE_U,
                side="left", distance=x, height=up)  # fmt: skip
    _checks(truth, add)
    if wrong:
        k, off = wrong
        rows[k] = replace(rows[k], reads=rows[k].reads + off)
    return RoomSurvey("room", Path("room.toml"), tuple(rows), instruments=Instruments(tape=TAPE_U))


def _checks(truth: Truth, add: Callable[..., None]) -> None:
    """Diagonals, leans and slopes."""
    for back in (False, True):
        for side in (0, 1):
            a, b = truth.corner(side, False, back), truth.corner(1 - side, True, back)
            plane = "back" if back else "front"
            ends = [Corner(end, ("left", "right")[k], plane)
                    for k, end in ((side, "bottom"), (1 - side, "top"))]  # fmt: skip
            add(DiagonalTaken, f"diagonal {side} {plane}", float(np.linalg.norm(a - b)), 2, TAPE_U,
                start=ends[0], end=ends[1])  # fmt: skip
    for side in (0, 1):
        for z in (0.0, 340.0):
            y = truth.floor(1200.0 * side, z) + np.array([200.0, 2000.0])
            low, high = truth.wall[side](y, z)
            add(LeanTaken, f"lean {side} {z}", (1, -1)[side] * float(high - low), 2, LEVEL_U,
                wall=("left", "right")[side], at=z, low=200.0, over=1800.0)  # fmt: skip
    for z in (0.0, 340.0):
        add(SlopeTaken, f"floor {z}", truth.floor(1100, z) - truth.floor(100, z), 2, LEVEL_U,
            surface="floor", along="width", start=100.0, over=1000.0, at=z)  # fmt: skip


def sizes_within(rooms: int, seed: int = 1) -> tuple[int, int]:
    """How many solved sizes lie within U of the truth, and of how many."""
    rng = np.random.default_rng(seed)
    within = total = 0
    for _ in range(rooms):
        truth = Truth(rng)
        room = adjust(survey(truth, rng)).opening
        for y, z in SPOTS:
            x = y / 2
            pairs = [
                (room.width(y, z), float(truth.wall[1](y, z) - truth.wall[0](y, z))),
                (room.height(x, z), float(truth.ceiling(x, z) - truth.floor(x, z))),
                (room.depth(x, y), float(truth.back(x, y))),
            ]
            within += sum(abs(size.value - true) <= size.U for size, true in pairs)
            total += len(pairs)
    return within, total


def false_alarms(rooms: int, seed: int = 2) -> int:
    """In how many rooms without a mistake one is named."""
    rng = np.random.default_rng(seed)
    return sum(bool(adjust(survey(Truth(rng), rng)).mistakes) for _ in range(rooms))


def mistakes_found(rooms: int, times: float, seed: int = 3) -> tuple[int, int]:
    """One reading in each room is made wrong by so many times the smallest mistake that is noticed
    95 times in 100, drawn among the readings that others check: in how many rooms it is named,
    and in how many it is named alone.
    """
    rng = np.random.default_rng(seed)
    named = alone = 0
    for _ in range(rooms):
        truth = Truth(rng)
        clean = survey(truth, rng)
        sure = [each for each in adjust(clean).checked if each.sure]
        wrong = sure[int(rng.integers(len(sure)))]
        off = float(rng.choice([-1.0, 1.0])) * times * wrong.smallest
        k = [each.name for each in clean.readings].index(wrong.reading.name)
        found = adjust(survey(truth, rng, (k, off)))
        hits = [
            mistake
            for mistake in found.mistakes
            if any(each.reading.name == wrong.reading.name for each in mistake.suspects)
        ]
        named += bool(hits)
        alone += any(len(mistake.suspects) == 1 for mistake in hits)
    return named, alone


def main(rooms: int) -> None:
    within, total = sizes_within(rooms)
    print(f"sizes within U: {within} of {total} ({100 * within / total:.1f} %) in {rooms} rooms")
    print(f"rooms without a mistake in which one was named: {false_alarms(rooms)} of {rooms}")
    for times in (1.0, 1.5, 2.0, 3.0):
        named, alone = mistakes_found(rooms, times)
        print(
            f"mistakes of {times:g} times the smallest noticed: named in {named} of {rooms} rooms,"
            f" alone in {alone}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
