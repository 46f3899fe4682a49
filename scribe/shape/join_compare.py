"""Two versions of one stretch, held against each other: what isn't chance is refused."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.laying import Laid
from scribe.geom.polyline import length, normals_at, point_at
from scribe.shape.strand import Strand

Array = npt.NDArray[np.float64]

_SURE = 2.0  # times U: by so much two versions of one stretch never differ by chance
_OFTEN = 0.25  # of an overlap may differ by more than U: neighbours err together
_LEAST_U = 0.01  # mm: no difference is known better
_ALIKE_MM = 5.0  # errors of points nearer than this count as one, as where they were laid
# What an overlap's fit starts from (u): a shift of 50 mm, half a radian, twice or half the size.
_UNKNOWN = (50.0, 50.0, 0.5, 1.0)
# To either side of a contact, for the line's direction there: mm, and part of a short overlap.
_CHORD_MM, _CHORD_PART = 12.0, 0.1
_CHANCE = 3.29  # standard uncertainties that chance exceeds once in 1000
_NOTICED = _CHANCE + 1.645  # beyond them: a difference so large shows 95 times in 100
_TOLD = 0.01  # of the size: a page printed to fit is off by more
_LEAST_SCALE = 0.005  # of the size: printers and damp paper differ by that


def compared(whole: Strand, placed: Strand, laid: Laid, where: str) -> str:
    """How far both versions of the overlap differ; refuses what isn't chance."""
    t = laid.on_second.station[: len(laid.station)]
    one, two = whole.at(laid.station), placed.at(t)
    normal = normals_at(whole.points, laid.station)
    variance = one.own_u**2 + two.own_u**2
    for name in one.shared:
        between = ((two.shared[name] - one.shared[name]) * normal).sum(axis=2)
        variance = variance + (between**2).sum(axis=0)
    U = 2.0 * np.sqrt(np.maximum(variance, _LEAST_U**2))
    over = np.abs(laid.apart) / U
    worst = int(np.argmax(over))
    at = point_at(whole.points, laid.station[worst])
    size = f"{abs(laid.apart[worst]):.2f} mm at {at[0]:.0f}, {at[1]:.0f}"
    if over[worst] > _SURE or (over > 1.0).mean() > _OFTEN:
        beyond = laid.station[over > 1.0] - laid.station.min()
        raise ScribeError(
            "join-disagrees",
            what=f"they differ by {size}, where their joint U is {U[worst]:.2f} mm; beyond it "
            f"from {beyond.min():.0f} to {beyond.max():.0f} mm of what they share",
            where=where,
            do="look whether both show that stretch of the wall as it is, and whether overlap, "
            "mark and order are right; or take the worse one again",
        )
    shared = float(np.ptp(laid.station))
    u_scale = _agreeing_scale(whole, placed, laid, where)
    told = max(_NOTICED * u_scale, _LEAST_SCALE)
    short = "which is too short to tell whether both have one scale: " if told > _TOLD else ""
    return (
        f"{where} overlap by {shared:.0f} mm and differ by {size} at most against their joint U "
        f"({U[worst]:.2f} mm there); {short}a difference of scale would show from "
        f"{100.0 * told:.1f} % on"
    )


def _agreeing_scale(whole: Strand, placed: Strand, laid: Laid, where: str) -> float:
    """Standard uncertainty of the second's size over the first's; refuses one that is another."""
    larger, u = scale_between(whole, placed, laid)
    if abs(larger) > max(_CHANCE * u, _LEAST_SCALE):
        raise ScribeError(
            "join-scale",
            what=f"where both show the same, the one is {100.0 * abs(larger):.1f} % larger than "
            f"the other (U {200.0 * u:.1f} %)",
            where=where,
            do="lay a rule on the check bars of both prints, give {bars}, and "
            "look whether heights and units are right",
        )
    return u


def scale_between(whole: Strand, placed: Strand, laid: Laid) -> tuple[float, float]:
    """By which part the second is larger than the first, and its u, by their shape alone.

    Least squares of the distances across, with the second's place free as well: a straight overlap
    says nothing of the scale along it. What moves a whole stretch counts as it moves both.
    """
    t = laid.on_second.station[: len(laid.station)]
    one, two = whole.at(laid.station), placed.at(t)
    normal, points = _calm_normals(whole.points, laid.station), point_at(placed.points, t)
    arm = points - points.mean(axis=0)
    turn = normal[:, 1] * arm[:, 0] - normal[:, 0] * arm[:, 1]
    by = np.column_stack([normal, turn, (normal * arm).sum(axis=1)])
    gap = float(np.ptp(t)) / max(len(t) - 1, 1)
    u = np.maximum(np.hypot(one.own_u, two.own_u), _LEAST_U) * np.sqrt(max(1.0, _ALIKE_MM / gap))
    weighed = by / u[:, None]
    covariance = np.linalg.inv(weighed.T @ weighed + np.diag(1.0 / np.square(_UNKNOWN)))
    gain = (covariance @ weighed.T)[3] / u
    common = sum(
        float(
            (
                (gain * ((two.shared[name] - one.shared[name]) * normal).sum(axis=2)).sum(axis=1)
                ** 2
            ).sum()
        )
        for name in one.shared
    )
    return float(gain @ laid.apart), float(np.sqrt(covariance[3, 3] + common))


def _calm_normals(points: Array, at: Array) -> Array:
    """(J, 2) unit normals to the left, over chords long enough that the points' noise turns none:
    a noisy normal times a long arm would hide a scale.
    """
    half = min(_CHORD_MM, _CHORD_PART * float(np.ptp(at)))
    ahead, behind = np.minimum(at + half, length(points)), np.maximum(at - half, 0.0)
    x, y = (point_at(points, ahead) - point_at(points, behind)).T
    return np.asarray(np.column_stack([-y, x]) / np.hypot(x, y)[:, None])
