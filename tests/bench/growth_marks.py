"""How the joint solve of a run grows: `python -m tests.bench.growth_marks`, no pictures.

Marks of known strips through known cameras (tests/capture/run_world.py, 12 megapixels, 0.15 px),
a photo for each 250 mm of run, from 1 photo of one strip to 60 photos of 15 m; from marks to
cameras, start values included. Printed: processor time, the size of the problem, and the most
memory the process has held so far. The exponent is the slope of the least-squares line through
the logarithms, from 4 photos. Never asserted.
"""

from __future__ import annotations

import resource
import sys
import time

import numpy as np

from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from tests.capture.run_world import make_run

STEP_MM, STRIP_MM = 250.0, 295.0
COUNTS = (1, 2, 4, 8, 15, 30, 60)
FROM = 4
MB = 1e6 / (1 if sys.platform == "darwin" else 1024)
UNCHECKED = ScalePrior(np.ones(2), np.full(2, 0.0029))


def main() -> None:
    """Print the table and the exponents."""
    print("| photos | run, m | strips | marks | processor s | peak MB |\n|---|---|---|---|---|---|")
    rows = []
    for count in COUNTS:
        length = max(STEP_MM * count, 300.0)
        strips = max(round(length / STRIP_MM), 1)
        seen = make_run(1, length=length, strips=strips, photos=count).seen(1)
        marks = sum(len(part.pixels) for photo in seen for part in photo.seen)
        begun = time.process_time()
        solve_network(seen, scale=UNCHECKED)
        spent = time.process_time() - begun
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MB
        rows.append((count, spent, peak))
        print(f"| {count} | {length / 1000:.1f} | {strips} | {marks} | {spent:.2f} | {peak:.0f} |")
    table = np.array([row for row in rows if row[0] >= FROM])
    slopes = [np.polyfit(np.log(table[:, 0]), np.log(table[:, k]), 1)[0] for k in (1, 2)]
    print(f"\nexponents from {FROM} photos: processor {slopes[0]:.2f}, memory {slopes[1]:.2f}")


if __name__ == "__main__":
    main()
