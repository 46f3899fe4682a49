"""Is the sheet flat? A smooth bend is seen by its marks, and taken out of the camera.

Marks of a bent sheet lie at z(x, y) and not on the plane. From the residuals of a solution on
the plane a polynomial z of degree 2 to 4 is solved together with what the camera gives way by
(linear least squares with priors). Tilted views see it best: a mark moves by z times the
slope of its ray. What the sheet does inside the ring of marks is not seen; it is taken to stay
within what the marks do, and so is whatever lies on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera, lifted
from scribe.capture.pose.lens_prior import LensPrior

Array = npt.NDArray[np.float64]

_POWERS = [(i, n - i) for n in (2, 3, 4) for i in range(n + 1)]
# Of a coefficient of each degree, at the border of the marks: paper bends evenly before it waves.
_PRIOR_MM = {2: 1.5, 3: 0.5, 4: 0.3}
_LENS = 8
_MATTERS_MM = 0.02
_ANY_LENS = 10.0  # times the spread of what is known of lenses
_LENS_INSTEAD = 0.5  # a bend must leave this part, or less, of what a lens would
_SURE = 2.0  # a bend must be so many times its standard uncertainty
_LEAST_MM = 0.1  # and this large
_BETTER = 0.7  # and take the residuals down to this part, or below


@dataclass(frozen=True)
class Bend:
    """z of the sheet over its mean plane, a polynomial in x and y.

    centre, half: (2,) mm, of the marks. terms: (P,) mm of each power, and plane: (3,) mm of a
    constant, x and y, so that the marks lie about z = 0.
    """

    centre: Array
    half: Array
    terms: Array
    plane: Array

    def z(self, points: Array) -> Array:
        """(...) mm at points (..., 2)."""
        x, y = np.moveaxis((points - self.centre) / self.half, -1, 0)
        high = sum(c * x**i * y**j for c, (i, j) in zip(self.terms, _POWERS, strict=True))
        return np.asarray(high + self.plane[0] + self.plane[1] * x + self.plane[2] * y)

    def with_more(self, other: Bend) -> Bend:
        """Both together, found from the same marks."""
        return replace(self, terms=self.terms + other.terms, plane=self.plane + other.plane)


def worth_looking(residuals: Array, camera: Camera, points: Array) -> bool:
    """Whether the marks miss the plane by so much, mm, that a bend of the sheet matters.

    Seen from above even a large bend moves nothing, and noise would pass for one.
    """
    px = float(np.sqrt((residuals**2).mean()))
    return px * float(np.median(camera.mm_per_px(points, 0.0))) > _MATTERS_MM


def find_bend(
    points: Array, residuals: Array, u: Array, camera: Camera, prior: LensPrior
) -> Bend | None:
    """The bend of a sheet, None when it lies as flat as can be told.

    points: (N, 2) mm. residuals: (N, 2) px, seen minus predicted by the camera on the plane.
    u: (N,) px of each mark's coordinates.
    """
    low, high = points.min(axis=0), points.max(axis=0)
    centre, half = (low + high) / 2.0, (high - low) / 2.0
    x, y = ((points - centre) / half).T
    basis = np.stack([x**i * y**j for i, j in _POWERS], axis=1)
    by_point, by_parameters = camera.derivatives(lifted(points, 0.0))
    moves = by_point[:, :, 2:] * basis[:, None, :]
    design = np.concatenate([by_parameters, moves], axis=2) / u[:, None, None]
    held = np.zeros((_LENS + len(_POWERS), design.shape[2]))
    held[:_LENS, :_LENS] = prior.weight()
    held[_LENS:, -len(_POWERS) :] = np.diag([1.0 / _PRIOR_MM[i + j] for i, j in _POWERS])
    flat = design.reshape(-1, design.shape[2])
    seen = (residuals / u[:, None]).ravel()
    normal = flat.T @ flat + held.T @ held
    covariance = np.linalg.inv(normal)
    found = covariance @ (flat.T @ seen)
    left = seen - flat @ found
    if float((left**2).sum()) > _LENS_INSTEAD * _left_by_lens(flat, seen, u, camera, points, prior):
        return None
    plane = np.column_stack([np.ones(len(x)), x, y])
    even = np.linalg.lstsq(plane, basis, rcond=None)[0]
    bent, terms = basis - plane @ even, found[-len(_POWERS) :]
    z = bent @ terms
    size = float(np.ptp(z))
    free = max(len(left) - design.shape[2], 1)
    scale = max(float(np.sqrt((left**2).sum() / free)), 1.0)
    spread = covariance[-len(_POWERS) :, -len(_POWERS) :]
    across = bent[z.argmax()] - bent[z.argmin()]
    own = scale * float(np.sqrt(across @ spread @ across))
    better = float((left**2).sum()) < _BETTER**2 * float((seen**2).sum())
    if size < max(_SURE * own, _LEAST_MM) or not better:
        return None
    return Bend(centre, half, terms, -even @ terms)


def _left_by_lens(
    flat: Array, seen: Array, u: Array, camera: Camera, points: Array, prior: LensPrior
) -> float:
    """Sum of squares that a lens of any kind would leave: a wide one isn't a bent sheet.

    Beside the model's own terms, loosened: radial ones of higher order, and a prism's.
    """
    there = camera.in_camera(lifted(points, 0.0))
    x, y = (there[:, :2] / there[:, 2:]).T
    r2 = x**2 + y**2
    extra = np.zeros((len(x), 2, 6))
    for k, power in enumerate((4, 5)):
        extra[:, 0, k], extra[:, 1, k] = x * r2**power, y * r2**power
    for k, power in enumerate((1, 2)):
        extra[:, 0, 2 + k] = extra[:, 1, 4 + k] = r2**power
    extra *= camera.lens.f / u[:, None, None]
    own = np.hstack([flat[:, : -len(_POWERS)], extra.reshape(-1, 6)])
    held = np.zeros((_LENS, own.shape[1]))
    held[:, :_LENS] = prior.weight() / _ANY_LENS
    found = np.linalg.lstsq(
        np.vstack([own, held]), np.concatenate([seen, np.zeros(_LENS)]), rcond=None
    )[0]
    return float(((seen - own @ found) ** 2).sum())
