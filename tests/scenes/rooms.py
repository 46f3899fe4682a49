"""Write the readings of fixtures/attic-room: `python -m tests.scenes.rooms`.

The room is made of planes in closed form; readings are taken from them with noise of 0.7 mm (one
standard deviation, fixed seed), in whole mm, and written below what the file says of the room.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOM = Path(__file__).parents[2] / "fixtures/attic-room/room.toml"
WIDTH = 2104.0
_MARK = "\n# Readings\n"


def left(y: float, z: float) -> float:
    """x of the left wall at level y and depth z; the frame is that of docs/conventions.md."""
    return -2.0 * y / 900 + 2.0 * z / 600


def right(y: float, z: float) -> float:
    """x of the right wall."""
    return WIDTH + 6.0 * y / 2300 - 3.0 * z / 600


def floor(x: float, z: float) -> float:
    """y of the floor."""
    return -6.0 * x / WIDTH + 2.0 * z / 600


def ceiling(x: float, z: float) -> float:
    """y of the ceiling: it rises to its break at x = 1400, then runs level."""
    return min(902.0 + (2298.0 - 902.0) * x / 1400.0, 2298.0) + 3.0 * z / 600


def back(x: float, y: float) -> float:
    """z of the back wall."""
    return 604.0 + 8.0 * x / WIDTH - 3.0 * y / 2300


def readings() -> str:
    """The TOML of all readings."""
    rng = np.random.default_rng(20)
    rows: list[str] = []

    def add(kind: str, true: float, *keys: str) -> None:
        reads = round(true + rng.normal(0.0, 0.7))
        rows.append("\n".join([f"[[{kind}]]", f"reads = {reads}", *keys]) + "\n")

    for deep in (False, True):
        place = ['depth = "back"'] if deep else []
        for up in (200, 500, 850):
            ends = [
                wall(floor(WIDTH / 2, 0.0) + up, back(at, up) if deep else 0.0)
                for wall, at in ((left, 0.0), (right, WIDTH))
            ]
            add("width", ends[1] - ends[0], f"height = {up}", *place)
        for d in (60, 700, 1350, 1450, 2050):
            z = back(d, 0.0) if deep else 0.0
            x = left(floor(0.0, z), z) + d
            add("height", ceiling(x, z) - floor(x, z), 'from = "left"', f"distance = {d}", *place)
    for side, x in (("left", 60.0), ("right", WIDTH - 60.0)):
        for up in (200, 850):
            add("depth", back(x, up), f'from = "{side}"', "distance = 60", f"height = {up}")
    _checks(add)
    return "\n".join(rows)


def _checks(add: Callable[..., None]) -> None:
    """Diagonals in front, corner to corner; leans with a 600 mm level; the floor's slope."""
    for side, other in (("left", "right"), ("right", "left")):
        ends = [_corner(side, False), _corner(other, True)]
        add("diagonal", float(np.hypot(*np.subtract(*ends))), f'from = "bottom {side} front"',
            f'to = "top {other} front"')  # fmt: skip
    for name, wall, sign in (("left", left, 1.0), ("right", right, -1.0)):
        gap = sign * (wall(800.0, 0.0) - wall(200.0, 0.0))
        add("lean", gap, f'wall = "{name}"', "low = 200", "over = 600")
    add("slope", floor(1000.0, 0.0) - floor(0.0, 0.0), 'surface = "floor"', "over = 1000")


def _corner(side: str, top: bool) -> tuple[float, float]:
    x, y = 0.0 if side == "left" else WIDTH, 0.0
    for _ in range(30):
        y = (ceiling if top else floor)(x, 0.0)
        x = (left if side == "left" else right)(y, 0.0)
    return x, y


if __name__ == "__main__":
    said = ROOM.read_text("utf-8").split(_MARK)[0].rstrip()
    ROOM.write_text(f"{said}\n{_MARK}\n{readings()}", encoding="utf-8")
