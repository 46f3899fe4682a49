"""What the grain of a board does to a line drawn on it: how far it pulls it, or whether it is it.

A fit takes each side of a line for evenly bright. Grain isn't: where a dark streak runs along
the line, the fit takes a part of it for the line, and goes on doing so for as long as the streak
is, in every photo alike; no scatter along the line shows it. But the board beside the line
does: whatever light g(t) is added to a scan, the fitted centre moves by F g, with F = the first
row of (J'J)^-1 J' of the bar's derivatives J (least squares, linearised). The scans of the same
board a little aside, put through F, say how far such a board moves such a line.

What it can't know: that the board is of another kind below the line than beside it.

A streak of the grain may also be taken for the line itself. Streaks are many and alike: what is
no streak is darker, along all of it, than everything that runs beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import BarFit, bell, phi
from scribe.capture.edges.scan import Stations, read_scans, running_median
from scribe.capture.view import View, inside

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ASIDE = np.array([-2.0, -1.5, -1.0, 1.0, 1.5, 2.0])  # scan lengths from the line
_EVERY = 4  # stations: grain runs along for much longer
_REACH = 25.0  # mm of board along the line that speak for a place
_BESIDE, _FINE = 10.0, 0.1  # mm to each side that a line is held against, and between samples
_GAP, _FLANK = 0.4, 0.6  # mm from a line to the board beside it, and of that board
# Times darker than any streak beside it: pencil on strong grain is from 6 on, most streaks are up
# to 5. They are wide, pencil and knife thinner than this, mm; what is wider must stand out more.
_NO_STREAK, _THIN = 5.0, 0.8
_STRIDE = 1.5  # mm beside a station within which a way has a point
_LOOSE = 1e-6  # width and contrast of a thin line can't both be told: see fit_bar


def grain_u(view: View, where: Stations, t: Array, fit: BarFit, good: Mask, step: float) -> Array:
    """(N,) mm standard uncertainty of the fitted centres; t: (S,) mm along the scan.

    0 where nothing beside the line is seen.
    """
    pull = _pull(t, fit, good)
    every = where[::_EVERY]
    moved, seen = [], []
    for aside in _ASIDE * (t[-1] - t[0]):
        beside = Stations(every.moved(np.full(len(every.place), aside)), every.normals, every.place)
        light = read_scans(view, beside, t, step)
        ends = [beside.moved(np.full(len(every.place), end)) for end in (t[0], t[-1])]
        shown = np.isfinite(light).all(axis=1) & inside(ends[0], view.window)
        seen.append(shown & inside(ends[1], view.window))
        moved.append(np.where(shown, np.nan_to_num(light) @ pull, 0.0))
    place, known = np.repeat(every.place, len(_ASIDE)), np.stack(seen, axis=1).ravel()
    if not known.any():
        return np.zeros(len(where.place))
    size = np.abs(np.stack(moved, axis=1).ravel())
    # The median bears with another line, a speck, a border on some of them.
    usual = 1.4826 * running_median(size, known, place, _REACH)
    return np.asarray(np.interp(where.place, place, usual))


def stands_out(
    view: View, where: Stations, centre: Array, width: float, others: Sequence[Array] = ()
) -> float:
    """How many times darker a line is, against both its sides, than the darkest streak beside it.

    centre: (N,) mm of the line along the normals; width: mm, its own. others: ways (M, 2) mm beside
    which nothing is looked at, since they may be lines as well.
    """
    half, far = 0.5 * width, 0.5 * width + _GAP + _FLANK
    t = np.arange(-_BESIDE - far, _BESIDE + far, _FINE)
    points = where.moved(centre)[:, None, :] + t[:, None] * where.normals[:, None, :]
    light = view.light(points)
    light[~inside(points, view.window)] = np.nan
    light[_of_others(where, centre, t, others, far)] = np.nan
    shown = np.isfinite(light)
    total = np.cumsum(np.pad(np.where(shown, light, 0.0).sum(axis=0), (1, 0)))
    count = np.cumsum(np.pad(shown.sum(axis=0), (1, 0)))
    index = np.arange(len(t))

    def mean(low: float, high: float) -> Array:
        a, b = (np.clip(index + round(at / _FINE), 0, len(t)) for at in (low, high + _FINE))
        seen = count[b] - count[a]
        return np.where(seen > 0, (total[b] - total[a]) / np.maximum(seen, 1), np.nan)

    sides = np.minimum(mean(-far, -half - _GAP), mean(half + _GAP, far))
    darker = sides - mean(-half, half)
    aside = (np.abs(t) > 2.0 * far) & (np.abs(t) < _BESIDE)
    return float(darker[np.argmin(np.abs(t))] / max(np.nanmax(darker[aside], initial=0.0), 1e-6))


def _of_others(
    where: Stations, centre: Array, t: Array, others: Sequence[Array], far: float
) -> Mask:
    """(N, S) which samples, t (S,) mm from a line, lie within far of another way."""
    of_others = np.zeros((len(where.place), len(t)), bool)
    middle = where.moved(centre)
    for other in others:
        away = other - middle[:, None]
        along = np.abs((away * where.travel[:, None]).sum(axis=2))
        row, point = np.nonzero(along < _STRIDE)
        across = (away[row, point] * where.normals[row]).sum(axis=1)
        np.logical_or.at(of_others, row, np.abs(t - across[:, None]) < far)
    return of_others


def clear_of_grain(
    view: View, where: Stations, centre: Array, width: float, others: Sequence[Array] = ()
) -> float:
    """How clearly a line is none of the board's streaks: from 1 on; see `stands_out`."""
    least = _NO_STREAK * max(1.0, width / _THIN) ** 2
    return stands_out(view, where, centre, width, others) / least


def _pull(t: Array, fit: BarFit, good: Mask) -> Array:
    """(S,) mm by which the centre of the usual bar moves for light of the board at each sample.

    Pencil takes a part of the board's light away, and with it that part of the grain.
    """
    half, blur, left, line, right = (
        float(np.median(values[good]))
        for values in (0.5 * fit.width, fit.blur, fit.left, fit.line, fit.right)
    )
    before, after = (t + half) / blur, (t - half) / blur
    fall, rise = (line - left) * bell(before) / blur, (right - line) * bell(after) / blur
    on = phi(before) - phi(after)
    by = np.stack(
        [
            -fall - rise,
            (fall - rise) * half,
            -(fall * before + rise * after) * blur,
            1.0 - phi(before),
            on,
            phi(after),
        ],
        axis=1,
    )
    normal = by.T @ by + np.diag([0.0, _LOOSE, _LOOSE, 0.0, 0.0, 0.0])
    darker = 1.0 - on * (1.0 - 2.0 * line / (left + right))
    return np.asarray(np.linalg.solve(normal, by.T)[0] * darker)
