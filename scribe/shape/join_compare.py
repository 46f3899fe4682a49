"""Two versions of one stretch, held against each other: what isn't chance is refused."""

from __future__ import annotations

import numpy as np

from scribe.errors import ScribeError
from scribe.geom.laying import Laid
from scribe.geom.polyline import normals_at, point_at
from scribe.shape.strand import Strand

_SURE = 2.0  # times U: by so much two versions of one stretch never differ by chance
_OFTEN = 0.25  # of an overlap may differ by more than U: neighbours err together
_LEAST_U = 0.01  # mm: no difference is known better


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
    return (
        f"{where} overlap by {shared:.0f} mm and differ by {size} at most against their joint U "
        f"({U[worst]:.2f} mm there)"
    )
