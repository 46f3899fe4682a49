"""What the residuals of neighbouring marks have in common: paper, lens terms that are missing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera, Resection

Array = npt.NDArray[np.float64]


def with_correlation(solved: Resection, points: Array) -> tuple[Camera, float]:
    """Widen the covariance for residuals that neighbours share; rms of the shared part in mm.

    Neighbouring marks whose residuals agree (correlation r) are not independent witnesses:
    of N marks only N (1 - r) / (1 + r) count (first-order autoregressive series).
    """
    r, shared = shared_by_neighbours(solved, points)
    camera = replace(solved.camera, covariance=solved.camera.covariance * (1.0 + r) / (1.0 - r))
    mm_per_px = float(np.median(camera.mm_per_px(points, 0.0)))
    return camera, float(np.sqrt(max(shared, 0.0))) * mm_per_px


def shared_by_neighbours(solved: Resection, points: Array) -> tuple[float, float]:
    """Correlation of the residuals of neighbouring marks, and their covariance, px^2."""
    apart = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    nearest = apart.argmin(axis=1)
    variance = float((solved.residuals**2).mean())
    shared = float((solved.residuals * solved.residuals[nearest]).mean())
    return float(np.clip(shared / variance, 0.0, 0.95)) if variance > 0.0 else 0.0, shared
