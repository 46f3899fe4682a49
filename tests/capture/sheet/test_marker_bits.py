"""Modules of markers against OpenCV's own large picture of them."""

from __future__ import annotations

import cv2
import numpy as np

from scribe.capture.sheet.marker_bits import marker_bits


def test_modules_are_those_of_opencv_with_a_black_border() -> None:
    bits = marker_bits("DICT_5X5_1000", [0, 17, 999, 17])
    assert sorted(bits) == [0, 17, 999]
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    for number, modules in bits.items():
        assert modules.shape == (7, 7)
        large = dictionary.generateImageMarker(number, 70)
        assert np.array_equal(modules, large[5::10, 5::10] == 0)
        frame = modules.copy()
        frame[1:-1, 1:-1] = True
        assert frame.all()
        assert not modules.all()
