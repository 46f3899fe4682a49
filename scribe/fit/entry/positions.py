"""The way in that was found, as a few positions of the piece: free, on the way, tight, home."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.fit.entry.tilting import Closing, Sections, Tilt
from scribe.fit.entry.way_in import Found, border
from scribe.geom.frames import turned_about
from scribe.passage import Passage

Array = npt.NDArray[np.float64]

# Of a piece's depth, and of its size across: positions nearer to each other look like one.
_APART, _ASIDE = 0.12, 0.04
_SHOWN_DEG = (24.0, 11.0)  # of a tilt, where it is still free


def in_plane_passage(
    found: Found, keep: Array, walls: tuple[Array, ...], names: tuple[str, str], words: str
) -> Passage | None:
    """Of a piece (N, 2) that stays in its plane; None where a wall behind lets nothing out."""
    if len(found.path) < 2:
        return None
    pulled, low, high, turn = found.path.T
    drift = _followed(low, high)
    size, depth = (float(side) for side in np.ptp(keep, axis=0))
    chosen = [found.tight]
    last = len(pulled) - 1
    for k in (0, last, (found.tight + last) // 2):
        shown = np.abs(pulled[k] - pulled[chosen]) + size * np.abs(turn[k] - turn[chosen])
        if (shown > max(_APART * depth, _ASIDE * size)).all() or k in (0, last):
            chosen.append(k)
    chosen = sorted(set(chosen), reverse=True)
    centre = keep.mean(axis=0)
    rings = [
        turned_about(centre, float(turn[k]), (drift[k], -pulled[k])).apply(keep) for k in chosen
    ]
    tight = chosen.index(found.tight)
    front = float(keep[:, 1].min()) - pulled[found.tight]
    spots = [
        [float(border(rings[tight], np.array([front + at]))[end][0]), front + at]
        for end, at in enumerate((found.left, found.right))
    ]
    return Passage(
        found.way, tuple(rings), tight, np.array(spots), found.spare, walls, names, words
    )


def _followed(low: Array, high: Array) -> Array:
    """(P,) mm of drift on the way: no more than the walls ask for, half way where they ask for
    too much.
    """
    drift = np.zeros(len(low))
    for k in range(1, len(low)):
        least, most = max(low[k - 1], low[k]), min(high[k - 1], high[k])
        drift[k] = np.clip(drift[k - 1], least, most) if least <= most else (low[k] + high[k]) / 2.0
    return drift


def tilted_passage(
    sections: Sections,
    found: Tilt,
    closing: tuple[Closing, Closing],
    names: tuple[str, str],
    words: str,
    *,
    above: bool,
) -> Passage:
    """Of a piece that is tilted in, the section that is tight; above: it comes from there."""
    tight = sections.at(found.levels[1 - found.first])
    turns = np.array([*np.radians(_SHOWN_DEG), found.turn, 0.0])
    swung = tight.swung(turns, found.first, face=found.face)[:, 0].transpose(1, 0, 2)
    out = np.array([-3.0 * tight.thickness, 1.1 * float(swung[..., 1].max())])
    n = out if found.face else -tight.thickness - out
    left, right = (each.in_front * n for each in closing)
    side = np.array([1.0, 1.0 if above else -1.0])
    walls = tuple(
        (np.column_stack([x, out]) * side)[:: int(side[1])]
        for x in (tight.near[0] + left, tight.far[0] - right)
    )
    at = swung[2] * side
    spots = at[[int(at[:, 0].argmin()), int(at[:, 0].argmax())]]
    positions = tuple(ring * side for ring in swung)
    return Passage("tilt", positions, 2, spots, found.spare, walls, names, words)
