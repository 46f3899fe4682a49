"""How far out the rows across a comb's pins show the same pins.

In: the light of rows across the pins. Out: the row from which on inwards they do. Along a pin
nothing changes but how much light falls on it: the streaks of the pins and the gaps between them
are the same in every row, and rows correlate whatever the light. On paper and in a shadow there is
nothing of that. Sun along the pins draws the gaps on the paper as well; but what is dark between
pins is light between their shadows, so that such rows are not those of the pins further in.

Where light comes in between the pins from their ends, rows change slowly, and the pins seem to
begin far behind their ends.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ALIKE = 0.8  # correlation of rows of the same pins
_PLAIN = 0.006  # standard deviation in parts of the paper's light: pins that show nothing
_NOTHING = 1e-12  # variance
_ROW_MM = 0.3  # along the pins that make a row
_NEXT_MM = 0.5, 2.5  # how far further in the rows lie that it is held against
_DEEP_MM = 9.5, 12.0  # and below the uppermost row, those that show pins and no shadow
_LASTING_MM, _MOST = 2.5, 0.95  # over which rows are those of pins, all but a few


def pins_from(light: Array, across: int, sample: float) -> npt.NDArray[np.int64]:
    """(N,) first row of (D, N) that is one of pins, from the outermost inwards; D where none is.

    light: (D, N) in parts of the paper's, rows `sample` mm apart, from outside inwards. across:
    samples in which a row shows a pin and its gaps.
    """

    def rows(mm: float) -> int:
        return round(mm / sample)

    row = _mean(light, 1, rows(_ROW_MM))
    first, last = map(rows, _NEXT_MM)
    further = np.roll(_mean(light, 1, last - first), -(first + last) // 2, axis=0)
    deep = slice(*map(rows, _DEEP_MM))
    pattern = np.repeat(np.median(light[deep], axis=0, keepdims=True), len(row), axis=0)
    alike, shown = _correlation(row, further, across)
    as_deep, _ = _correlation(row, pattern, across)
    # Short pins have their body there, and no row is like it.
    pins_deep = as_deep[deep].min(axis=0) > _ALIKE
    own = (alike > _ALIKE) & (shown > _PLAIN) & ((as_deep > _ALIKE) | ~pins_deep)
    long = rows(_LASTING_MM)
    count = np.cumsum(np.pad(own, ((1, 0), (0, 0))), axis=0)
    lasting = own[: 1 - long] & (count[long:] - count[:-long] > _MOST * long)
    return np.where(lasting.any(axis=0), lasting.argmax(axis=0), len(light))


def _correlation(one: Array, other: Array, across: int) -> tuple[Array, Array]:
    """(D, N) correlation of rows over so many samples, and the standard deviation of the other."""
    mean, usual = _mean(one, across, 1), _mean(other, across, 1)
    spread = np.clip(_mean(one**2, across, 1) - mean**2, _NOTHING, None)
    shown = np.clip(_mean(other**2, across, 1) - usual**2, _NOTHING, None)
    both = _mean(one * other, across, 1) - mean * usual
    return both / np.sqrt(spread * shown), np.sqrt(shown)


def _mean(light: Array, across: int, along: int) -> Array:
    """Box mean over so many samples across the pins (axis 1) and along them (axis 0)."""
    return np.asarray(cv2.blur(light, (across, along), borderType=cv2.BORDER_REPLICATE))
