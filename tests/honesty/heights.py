"""How well photos from different sides tell a height: `python -m tests.honesty.heights`.

Outlines 0 to 40 mm above an A4 window sheet as two or three cameras see them: no pictures, but
marks to 0.15 px, the outline to 0.1 px and lenses known to 4 %, each camera solved from its own
marks by the package (tests/capture/two_sides.py). Nothing is stated: the search starts at 5 mm.
Printed for each row: error of the height (rms, worst), its median U, how often the truth lies
within U; then how often a turn of the wall between the photos is noticed.
"""

from __future__ import annotations

import argparse

import numpy as np

from scribe.capture.several import refuse_moved
from scribe.errors import ScribeError
from tests.capture.two_sides import compared, side, turned, wavy

SIDES = {
    "front and back": (-90.0, 90.0),
    "left and right": (180.0, 0.0),
    "front, twice": (-90.0, -80.0),
    "three sides": (-90.0, 30.0, 150.0),
}
TURNS_DEG = (0.1, 0.2, 0.5, 1.0)


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("--first", type=int, default=5000)
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    print("| photos from | tilt, degrees | rms mm | worst mm | median U mm | within U | refused |")
    print("|---|---|---|---|---|---|---|")
    for name, azimuths in SIDES.items():
        for tilt in (10.0, 20.0, 30.0):
            print(f"| {name} | {tilt:.0f} | {' | '.join(row(seeds, azimuths, tilt))} |")
    print("\n| turned between two photos, degrees | noticed |\n|---|---|")
    for turn_deg in TURNS_DEG:
        noticed = [refused_turn(seed, turn_deg) for seed in seeds]
        print(f"| {turn_deg:g} | {100 * np.mean(noticed):.0f} % |")


def row(seeds: range, azimuths: tuple[float, ...], tilt: float) -> list[str]:
    """rms, worst, median U, share within U, refusals."""
    errors, us, refused = [], [], 0
    for seed in seeds:
        rng = np.random.default_rng([seed, 9])
        height, points = float(rng.uniform(0, 40)), wavy(seed)
        sides = [
            side(seed, points, height, azimuth=azimuth + float(rng.uniform(-5, 5)), tilt=tilt)
            for azimuth in azimuths
        ]
        try:
            found = compared(sides, 5.0)
            refuse_moved(found, "")
        except ScribeError:
            refused += 1
            continue
        errors.append(abs(found.height - height))
        us.append(2.0 * found.u)
    off, u = np.array(errors), np.array(us)
    return [
        f"{np.sqrt((off**2).mean()):.3f}", f"{off.max():.3f}", f"{np.median(u):.3f}",
        f"{100 * np.mean(off <= u):.0f} %", str(refused),
    ]  # fmt: skip


def refused_turn(seed: int, turn_deg: float) -> bool:
    """Whether two photos between which the wall was turned about its middle are refused."""
    points = wavy(seed)
    sides = [
        side(seed, each, 6.0, azimuth=azimuth, tilt=20.0)
        for each, azimuth in ((points, -90.0), (turned(points, turn_deg), 90.0))
    ]
    try:
        refuse_moved(compared(sides, 5.0), "")
    except ScribeError:
        return True
    return False


if __name__ == "__main__":
    main()
