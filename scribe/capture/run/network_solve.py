"""A network solved: from the marks of all photos, what is known besides, and a state to start from.

Marks scatter more than their fit says, and neighbours err alike: both widen the covariance.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.capture.run.network import Network
from scribe.capture.run.network_known import Knowledge, ScalePrior, shared_prior
from scribe.capture.run.network_model import POSE, Observations, Rig
from scribe.capture.run.network_start import Alone, fitted, neighbours, start_of
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.tape import TapeReading

Array = npt.NDArray[np.float64]

_LEAST_FACTOR = 0.2
_ROUNDS = 4
# What all marks of a sheet in one photo are drawn aside together, and so doesn't average out:
# marks of a row lie alike between the pixels. Of rendered photos (amplitude 0.004 px of the error
# as it depends on the part of a pixel), by how much it tells in the solution.
_TOGETHER_PX = 0.001


def solve_network(
    photos: Sequence[PhotoMarks],
    *,
    scale: ScalePrior,
    tapes: Sequence[TapeReading] = (),
    before: Sequence[Alone] = (),
) -> Network:
    """Solve everything together. The photos must hang together; see `network_faults`.

    before: photos that were solved by themselves already.
    """
    first = min(number for photo in photos for number in photo.sheets)
    seen = Observations.of(photos, first)
    rig = start_of(seen, scale, before)
    known = Knowledge(shared_prior(photos[0]), scale, tuple(tapes), neighbours(seen, rig))
    return solved(seen, known, rig)


def solved(seen: Observations, known: Knowledge, start: Rig) -> Network:
    """Solve from a state that is near."""
    factor, rig = 1.0, start
    for _ in range(_ROUNDS):
        sd = seen.u * factor
        found = fitted(seen, known, sd, rig, iterations=40, tolerance=1e-7)
        rig = found.state
        size2 = (found.residuals**2).sum(axis=1)
        own = POSE * (len(seen.photos) + len(seen.numbers))
        freedom = max(2 * len(size2) - own, 1)
        change = float(np.sqrt((found.weights * size2).sum() / freedom))
        factor = max(factor * change, _LEAST_FACTOR)
        if abs(change - 1.0) < 0.02:
            break
    residuals = -found.residuals * sd[:, None]
    noise = float(np.sqrt((found.weights[:, None] * residuals**2).sum() / freedom))
    smooth = _smooth(seen, residuals)
    # Of N marks only N (1 - r) / (1 + r) count (first-order autoregressive series).
    r = min(smooth**2 / max(float((residuals**2).mean()), 1e-300), 0.95)
    together = len(size2) / len(seen.starts) * (_TOGETHER_PX / max(noise, 1e-6)) ** 2
    widening = (1 + r) / (1 - r) + together
    # The marks' doubt is widened and not what is known apart from them.
    wide = fitted(seen, known, sd * np.sqrt(widening), rig, iterations=2, tolerance=1e-7)
    return Network(seen, known, rig, wide.factor, residuals, found.weights, noise, smooth, widening)


def _smooth(seen: Observations, residuals: Array) -> float:
    """px rms of what the residuals of nearest neighbours have in common."""
    product, count = 0.0, 0
    for first, last in zip(seen.starts, [*seen.starts[1:], len(residuals)], strict=True):
        here = slice(first, last)
        points = seen.points[here]
        if len(points) < 2:
            continue
        apart = np.hypot(*(points[:, None] - points).transpose(2, 0, 1))
        np.fill_diagonal(apart, np.inf)
        nearest = residuals[here][apart.argmin(axis=1)]
        product += float((residuals[here] * nearest).sum())
        count += 2 * len(points)
    return float(np.sqrt(max(product / max(count, 1), 0.0)))
