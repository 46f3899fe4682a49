"""The black and white modules of markers, from OpenCV's predefined dictionaries."""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

Modules = npt.NDArray[np.bool_]


def marker_bits(dictionary: str, ids: Iterable[int]) -> dict[int, Modules]:
    """The modules of each marker, border included.

    dictionary: an OpenCV name such as "DICT_5X5_1000".
    Returns id -> (M, M) bool, True = black, row 0 the upper edge of the marker; M is the
    number of modules across with a border one module wide (7 for a 5 x 5 dictionary).
    """
    markers = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    across = markers.markerSize + 2
    return {
        int(number): np.asarray(markers.generateImageMarker(int(number), across)) == 0
        for number in set(ids)
    }
