"""The true walls of the jobs in `fixtures`, and the readings that were taken of them.

`python -m tests.examples.walls` writes the tables of readings anew; the same bytes each time.
Offsets are towards the building, in mm, from a straight edge or a level line.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FIXTURES = Path(__file__).parents[2] / "fixtures"
READ_U_MM = 0.5  # of a reading with a rule, k = 2: what the jobs state


@dataclass(frozen=True)
class Wall:
    """A true surface beside a straight edge, and where it was read.

    waves: (length, height, phase) each; trend: mm per mm. joints: stations of hollows between
    stones, 6 mm wide and 4 deep. closer: stations that were read as well, where it asked for it.
    """

    seed: int
    length: float
    spacing: float
    waves: tuple[tuple[float, float, float], ...]
    trend: float = 0.0
    joints: tuple[float, ...] = ()
    closer: tuple[float, ...] = ()

    def offset(self, station: Array) -> Array:
        """(N,) mm of the surface at stations (N,)."""
        value = 20.0 + self.trend * station
        for length, height, phase in self.waves:
            value = value + height * np.sin(2.0 * np.pi * station / length + phase)
        for joint in self.joints:
            value = value + 4.0 * np.exp(-(((station - joint) / 6.0) ** 2))
        return np.asarray(value)

    def table(self) -> str:
        """The readings, to a tenth of a millimetre, each off by chance."""
        even = np.arange(0.0, self.length + 0.5 * self.spacing, self.spacing)
        station = np.concatenate([even, self.closer])
        noise = np.random.default_rng(self.seed).normal(0.0, READ_U_MM / 2.0, len(station))
        read = np.round(self.offset(station) + noise, 1)
        rows = [f"{s:g},{r:g}" for s, r in sorted(zip(station, read, strict=True))]
        return "\n".join(["station,offset", *rows, ""])


STONE = ((310.0, 2.2, 0.4), (95.0, 1.3, 1.9), (61.0, 0.5, 0.7))
WALLS = {
    "alcove-shelf/left.csv": Wall(
        11, 320.0, 10.0, STONE, 0.018, (118.0,), (112.0, 114.0, 116.0, 118.0, 122.0, 124.0)
    ),
    "alcove-shelf/right.csv": Wall(12, 320.0, 10.0, ((270.0, 1.8, 2.6), (83.0, 1.1, 0.2)), 0.011),
    "alcove-shelf/back.csv": Wall(13, 950.0, 50.0, ((1400.0, 2.5, 0.3), (520.0, 0.8, 2.0))),
    "plinth/floor.csv": Wall(14, 2000.0, 50.0, ((2600.0, 5.0, 2.4), (640.0, 1.2, 0.5)), -0.002),
    "pipe-boxing/floor.csv": Wall(16, 700.0, 50.0, ((900.0, 3.0, 0.8), (260.0, 0.7, 1.0)), 0.004),
    "sloping-top/ceiling.csv": Wall(15, 820.0, 40.0, ((1100.0, 1.6, 1.0), (370.0, 0.6, 0.1)), 0.53),
}


# The plinth as it was set down: its clearance of 0.5 mm at the left, and 1.3 mm more at the right.
GAPS = "plinth/gaps.csv"


def gaps() -> str:
    """Felt every 200 mm under the plinth with leaves of a twentieth of a millimetre."""
    station = np.arange(0.0, 2001.0, 200.0)
    noise = np.random.default_rng(17).normal(0.0, 0.02, len(station))
    felt = np.round((0.5 + 1.3 / 2000.0 * station + noise) / 0.05) * 0.05
    rows = [f"{s:g},{g:.2f}" for s, g in zip(station, felt, strict=True)]
    return "\n".join(["station,gap", *rows, ""])


def main() -> None:
    """Write every table beside its job."""
    (FIXTURES / GAPS).write_text(gaps(), "utf-8")
    for name, wall in WALLS.items():
        path = FIXTURES / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(wall.table(), "utf-8")


if __name__ == "__main__":
    main()
