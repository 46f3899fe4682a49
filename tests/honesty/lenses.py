"""Lenses of seeded worlds without pictures: how well photos tell them, and what that is good for.

`python -m tests.honesty.lenses` prints the table of docs/measuring.md. Marks of the A4 window
sheet in 12 megapixel photos, projected by OpenCV and scattered by 0.1 px; every photo has its own
shift of the sensor, and the later photos their own breathing.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from tests.capture.lens_world import (
    EXIF,
    SIZE,
    above_the_sheet,
    another_photo,
    drawn,
    learnt,
    prior_of,
)

CASES = (
    ("3, tilted", (20.0, 28.0, 32.0)),
    ("5, tilted", (5.0, 20.0, 25.0, 30.0, 30.0)),
    ("10, tilted", (5.0, 10.0, 20.0, 20.0, 25.0, 25.0, 30.0, 30.0, 35.0, 35.0)),
    ("5, nearly square-on", (1.0, 2.0, 2.0, 3.0, 3.0)),
)
LENSES, LATER = 12, 5
_WITHIN = 15.507  # chi-square of 8, 95 %; computed


def rows(seed: int = 61) -> Iterator[str]:
    """The table, a line each."""
    yield (
        "| photos | f known to, U | lens within its 95 % ellipsoid | points within U |"
        " U 6 mm up, one photo alone, mm | U with the lens, mm |"
    )
    yield "|---|---|---|---|---|---|"
    usual = lens_prior(EXIF, SIZE)
    for name, tilts in CASES:
        rng = np.random.default_rng(seed)
        focal, inside, within, alone, helped = [], [], [], [], []
        for _ in range(LENSES):
            lens = drawn(rng, usual)
            found = learnt(rng, lens, tilts)
            focal.append(2.0 * np.sqrt(found.covariance[0, 0]) / found.lens.f)
            inside.append(LensPrior(found.lens, found.covariance).distance2(lens) < _WITHIN)
            prior = prior_of(found, len(tilts))
            for _ in range(LATER):
                true, pixels = another_photo(rng, lens)
                alone.append(2.0 * above_the_sheet(true, pixels, usual)[1].max())
                error, u = above_the_sheet(true, pixels, prior)
                helped.append(2.0 * u.max())
                within.append(np.abs(error) <= 2.0 * u)
        yield (
            f"| {name} | {100 * np.median(focal):.2f} % | {sum(inside)} of {LENSES} |"
            f" {100 * np.mean(within):.0f} % | {np.median(alone):.3f} | {np.median(helped):.3f} |"
        )


if __name__ == "__main__":
    for line in rows():
        print(line, flush=True)
