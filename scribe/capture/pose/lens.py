"""Lens: from directions in front of the camera to pixels and back.

Brown-Conrady model with square pixels: focal length f, principal point cx, cy (px, pixel
centres at integers), radial k1, k2, k3 and tangential p1, p2. Camera frame: x right,
y down, z forward. For x, y normalised (X/Z, Y/Z) and r2 = x^2 + y^2:

    xd = x (1 + k1 r2 + k2 r2^2 + k3 r2^3) + 2 p1 x y + p2 (r2 + 2 x^2)
    yd = y (1 + k1 r2 + k2 r2^2 + k3 r2^3) + p1 (r2 + 2 y^2) + 2 p2 x y
    u = f xd + cx,  v = f yd + cy

The polynomial is only trusted where it still grows with the radius (`Lens.usable_radius`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LENS_PARAMETERS = ("f", "cx", "cy", "k1", "k2", "p1", "p2", "k3")


@dataclass(frozen=True)
class Lens:
    """f, cx, cy in px; k1, k2, p1, p2, k3 without unit."""

    f: float
    cx: float
    cy: float
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    k3: float = 0.0

    def values(self) -> Array:
        """(8,) in the order of LENS_PARAMETERS."""
        return np.array([getattr(self, name) for name in LENS_PARAMETERS], dtype=np.float64)

    @staticmethod
    def of(values: Array) -> Lens:
        """The lens with these (8,) values."""
        return Lens(*(float(value) for value in values))

    def usable_radius(self) -> float:
        """The normalised radius up to which the distorted radius still grows; inf if always."""
        slope = np.array([7.0 * self.k3, 5.0 * self.k2, 3.0 * self.k1, 1.0])
        roots = np.roots(np.trim_zeros(slope, "f")) if slope[:3].any() else np.zeros(0)
        turning = [root.real for root in roots if abs(root.imag) < 1e-12 and root.real > 0.0]
        return float(np.sqrt(min(turning))) if turning else float("inf")

    def pixels(self, directions: Array) -> Array:
        """(..., 2) px of normalised directions (..., 2)."""
        x, y = directions[..., 0], directions[..., 1]
        r2 = x * x + y * y
        radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))
        xd = x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x)
        yd = y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y
        # Of many pixels one coordinate after the other is worked with: each lies in one piece.
        return np.moveaxis(np.stack([self.f * xd + self.cx, self.f * yd + self.cy]), 0, -1)

    def derivatives(self, directions: Array) -> tuple[Array, Array]:
        """d pixels / d directions (N, 2, 2) and d pixels / d lens parameters (N, 2, 8)."""
        return self.by_direction(directions), self.by_parameters(directions)

    def by_direction(self, directions: Array) -> Array:
        """d pixels / d directions (N, 2, 2)."""
        x, y = directions[:, 0], directions[:, 1]
        r2 = x * x + y * y
        radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))
        slope = self.k1 + r2 * (2.0 * self.k2 + r2 * 3.0 * self.k3)
        by_direction = np.empty((len(x), 2, 2))
        by_direction[:, 0, 0] = radial + 2 * x * x * slope + 2 * self.p1 * y + 6 * self.p2 * x
        by_direction[:, 0, 1] = 2 * x * y * slope + 2 * self.p1 * x + 2 * self.p2 * y
        by_direction[:, 1, 0] = by_direction[:, 0, 1]
        by_direction[:, 1, 1] = radial + 2 * y * y * slope + 6 * self.p1 * y + 2 * self.p2 * x
        return self.f * by_direction

    def by_parameters(self, directions: Array) -> Array:
        """d pixels / d lens parameters (N, 2, 8)."""
        x, y = directions[:, 0], directions[:, 1]
        r2 = x * x + y * y
        by_lens = np.zeros((len(x), 2, 8))
        by_lens[:, :, 0] = (self.pixels(directions) - [self.cx, self.cy]) / self.f
        by_lens[:, 0, 1] = by_lens[:, 1, 2] = 1.0
        powers = np.stack([r2, r2 * r2, r2**3], axis=-1) * self.f
        for column, power in ((3, 0), (4, 1), (7, 2)):
            by_lens[:, 0, column] = x * powers[:, power]
            by_lens[:, 1, column] = y * powers[:, power]
        by_lens[:, 0, 5] = by_lens[:, 1, 6] = 2.0 * self.f * x * y
        by_lens[:, 1, 5] = self.f * (r2 + 2.0 * y * y)
        by_lens[:, 0, 6] = self.f * (r2 + 2.0 * x * x)
        return by_lens

    def directions(self, pixels: Array) -> Array:
        """(N, 2) normalised directions of pixels (N, 2): the model undone by Newton steps."""
        distorted = (pixels - [self.cx, self.cy]) / self.f
        directions = distorted.copy()
        for _ in range(20):
            miss = pixels - self.pixels(directions)
            step = np.linalg.solve(self.by_direction(directions), miss[:, :, None])[:, :, 0]
            directions += step
            if np.abs(step).max(initial=0.0) < 1e-12:
                break
        return directions
