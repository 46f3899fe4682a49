"""The lowest course of a polyline over x: what is met first from below."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

BESIDE_MM = 1e-6  # beside an upright side both of its heights are seen


def lowest_course(line: Array, low: float, high: float) -> Array:
    """(M, 2) the lowest points of a polyline (N, 2) mm for x from low to high.

    At its vertices and just beside them, x rising; where it overhangs, what lies below counts.
    Places that it doesn't reach are left out.

    >>> float(lowest_course(np.array([[0.0, 0], [2, 2], [1, 3], [4, 3]]), 0.0, 4.0)[:, 1].max())
    3.0
    """
    vertices = line[:, 0]
    x = np.unique(
        np.concatenate([[low, high], vertices - BESIDE_MM, vertices, vertices + BESIDE_MM])
    )
    x = x[(x >= low) & (x <= high)]
    y = np.full(len(x), np.inf)
    start, stop = line[:-1], line[1:]
    first = np.searchsorted(x, np.minimum(start[:, 0], stop[:, 0]), "left")
    last = np.searchsorted(x, np.maximum(start[:, 0], stop[:, 0]), "right")
    for k in range(len(start)):
        over = slice(int(first[k]), int(last[k]))
        run = stop[k, 0] - start[k, 0]
        # An upright side counts by its lower end.
        share = (x[over] - start[k, 0]) / run if run else float(stop[k, 1] < start[k, 1])
        y[over] = np.minimum(y[over], start[k, 1] + share * (stop[k, 1] - start[k, 1]))
    known = np.isfinite(y)
    return np.column_stack([x[known], y[known]])
