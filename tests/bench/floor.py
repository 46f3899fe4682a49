"""The floor: grey decode, marks at quarter size refined on the full photo, pose. Nothing else.

`python -m tests.bench.floor PHOTO` runs it once, as a process of its own.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np

from scribe.target import window_sheet


def floor(path: Path) -> np.ndarray:
    """The pose of the sheet with a guessed lens: what every measurement from a photo must pay."""
    grey = cv2.imdecode(np.frombuffer(path.read_bytes(), np.uint8), cv2.IMREAD_GRAYSCALE)
    small = cv2.resize(grey, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    whole = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    # only the identities that say where on the sheet a marker is: the search is the cheapest so
    dictionary = cv2.aruco.Dictionary(whole.bytesList[:60], 5, whole.maxCorrectionBits)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(small)
    sheet = window_sheet("A4", 1)
    place = {int(identity): k for k, identity in enumerate(sheet.ids) if identity < 300}
    known = [k for k, identity in enumerate(ids.ravel()) if int(identity) in place]
    points = np.vstack([sheet.markers[place[int(ids.ravel()[k])]] for k in known])
    pixels = np.vstack([(corners[k][0] + 0.5) * 4 - 0.5 for k in known]).astype(np.float32)
    done = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 20, 0.01)
    pixels = cv2.cornerSubPix(grey, pixels.reshape(-1, 1, 2), (5, 5), (-1, -1), done)
    height, width = grey.shape
    lens = np.array([[0.78 * width, 0, width / 2], [0, 0.78 * width, height / 2], [0, 0, 1.0]])
    flat = np.column_stack([points, np.zeros(len(points))])
    _, turn, shift = cv2.solvePnP(flat, pixels, lens, None)
    return np.concatenate([turn.ravel(), shift.ravel()])


if __name__ == "__main__":
    floor(Path(sys.argv[1]))
