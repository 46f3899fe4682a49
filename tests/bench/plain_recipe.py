"""The straight recipe from the libraries' documentation, to compare speed and accuracy with.

Detect, homography, warp the whole photo at 10 px/mm, Otsu and the largest contour (edge) or a
ridge filter (line), smooth, offset, SVG and PDF. No lens, no height, encoded light.
`python -m tests.bench.plain_recipe PHOTO edge|line OUT` runs it once, as a process of its own.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np

from scribe.target import window_sheet

PX_PER_MM = 10


def recipe(path: Path, kind: str, out: Path) -> np.ndarray:
    """(N, 2) mm outline on the sheet; writes outline.svg and outline.pdf."""
    photo = cv2.imread(str(path))
    grey = cv2.cvtColor(photo, cv2.COLOR_BGR2GRAY)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(grey)
    sheet = window_sheet("A4", 1)
    place = {int(identity): k for k, identity in enumerate(sheet.ids) if identity < 300}
    known = [k for k, identity in enumerate(ids.ravel()) if int(identity) in place]
    points = np.vstack([sheet.markers[place[int(ids.ravel()[k])]] for k in known])
    pixels = np.vstack([corners[k][0] for k in known])
    width, height = (round(side * PX_PER_MM) for side in sheet.size)
    flipped = np.column_stack([points[:, 0], sheet.size[1] - points[:, 1]]) * PX_PER_MM
    matrix, _ = cv2.findHomography(pixels, flipped, cv2.RANSAC, 3.0)
    flat = cv2.warpPerspective(grey, matrix, (width, height))
    x0, y0, x1, y1 = sheet.window
    top = int((sheet.size[1] - y1) * PX_PER_MM)
    crop = flat[
        top + 10 : int((sheet.size[1] - y0) * PX_PER_MM) - 10,
        int(x0 * PX_PER_MM) + 10 : int(x1 * PX_PER_MM) - 10,
    ]
    rows = _edge(crop) if kind == "edge" else _line(crop)
    columns = np.arange(crop.shape[1])
    x = (columns + int(x0 * PX_PER_MM) + 10 + 0.5) / PX_PER_MM
    y = sheet.size[1] - (rows + top + 10 + 0.5) / PX_PER_MM
    outline = np.column_stack([x, y])
    _write(_offset(outline), out)
    return outline


def _edge(crop: np.ndarray) -> np.ndarray:
    """Upper border of the largest dark contour, a row for every column."""
    _, mask = cv2.threshold(cv2.GaussianBlur(crop, (5, 5), 0), 0, 255, cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(255 - mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(contours, key=cv2.contourArea)[:, 0, :]
    upper = np.full(crop.shape[1], np.inf)
    np.minimum.at(upper, largest[:, 0], largest[:, 1] - 0.5)
    return _smooth(upper)


def _line(crop: np.ndarray) -> np.ndarray:
    """The strongest ridge in every column."""
    from skimage.filters import sato

    ridge = sato(crop, sigmas=[3], black_ridges=True)
    return _smooth(ridge.argmax(axis=0).astype(float))


def _smooth(rows: np.ndarray) -> np.ndarray:
    from scipy.signal import savgol_filter

    rows = np.where(np.isfinite(rows), rows, np.median(rows[np.isfinite(rows)]))
    return savgol_filter(rows, 31, 2)


def _offset(outline: np.ndarray) -> np.ndarray:
    from shapely.geometry import LineString

    return np.array(LineString(outline).offset_curve(2.0).coords)


def _write(outline: np.ndarray, out: Path) -> None:
    import svgwrite
    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    drawing = svgwrite.Drawing(str(out / "outline.svg"), size=("210mm", "297mm"))
    drawing.viewbox(0, 0, 210, 297)
    drawing.add(drawing.polyline([(x, 297 - y) for x, y in outline.tolist()], fill="none"))
    drawing.save()
    canvas = Canvas(str(out / "outline.pdf"), pagesize=(210 * mm, 297 * mm))
    path = canvas.beginPath()
    path.moveTo(*(outline[0] * mm))
    for point in outline[1:]:
        path.lineTo(*(point * mm))
    canvas.drawPath(path)
    canvas.save()


if __name__ == "__main__":
    recipe(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))
