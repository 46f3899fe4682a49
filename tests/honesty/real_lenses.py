"""Lenses of real cameras, learnt from real photographs of described boards.

`python -m tests.honesty.real_lenses FOLDER` prints the table of docs/measuring.md. A lens is
learnt as `scribe camera` learns it; an independent calibration (OpenCV's calibrateCamera, the
same marks, square pixels, k1, k2, p1, p2) stands beside it. Then the lens is learnt from every
second photo, and the others are solved with it: how far off their marks are, against what
their own lens, solved from each photo alone, leaves.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np

from scribe.camera_file import KnownLens
from scribe.capture.photo_file import read_photo
from scribe.capture.pose.calibrate import stored
from scribe.capture.pose.orient import orient
from scribe.errors import ScribeError
from scribe.recipes.camera import learn, orient_one
from scribe.target_file import read_target

SETS = (
    "aruco_boards/ios_charuco_9x7", "aruco_boards/webcam_grid_6x4", "aruco_boards/webcam_grid_4x5",
    "wideangle_charuco_screen",
)  # fmt: skip


def described(board: dict, folder: Path) -> Path:
    """The board as a file that `--target` takes."""
    lines = [f"{key} = {json.dumps(board[key])}" for key in ("dictionary", "marker_mm")]
    if board["type"] == "charuco":
        lines += ['kind = "charuco"', f"squares = {board['squares']}"]
        lines += [f"square_mm = {board['square_mm']}"]
    else:
        lines += ['kind = "marker-grid"', f"markers = {board['markers']}"]
        lines += [f"gap_mm = {board['gap_mm']}"]
    path = folder / "board.toml"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def row(photos: Path, name: str, board: Path) -> str:
    """One set: the lens of all photos, OpenCV's, and the half that predicts the other half."""
    paths = sorted((photos / name).glob("*.jpg"))
    learnt = learn(paths, board)
    known = learnt.known
    focal, rms = _opencv(paths, board, known)
    U = 2.0 * np.sqrt(known.covariance[0, 0])
    half = learn(paths[::2], board).known
    alone, helped, refused = [], [], 0
    for path in paths[1::2]:
        try:
            photo, target = read_photo(path), read_target(board)
            own = orient(photo, board=target)
            alone.append(own.noise_px)
            helped.append(orient(photo, board=target, known=half).noise_px)
        except ScribeError:
            refused += 1
    return (
        f"| {name} | {len(learnt.used)} of {len(paths)} | {known.values[0]:.1f} +/- {U:.1f} |"
        f" {focal:.1f} | {known.noise_px:.2f} | {rms:.2f} | {np.mean(alone):.2f} |"
        f" {f'{np.mean(helped):.2f}' if helped else '-'} | {refused} |"
    )


def _opencv(paths: list[Path], board: Path, known: KnownLens) -> tuple[float, float]:
    """Focal length and rms of a coordinate of calibrateCamera on the same marks."""
    seen = []
    for path in paths:
        try:
            seen.append(stored(orient_one(path, board)))
        except ScribeError:
            continue
    objects = [
        np.column_stack([s.points[s.used], np.zeros(s.used.sum())]).astype(np.float32) for s in seen
    ]
    pixels = [s.pixels[s.used].astype(np.float32) for s in seen]
    f, cx, cy = known.values[:3]
    start = np.array([[f, 0, cx], [0, f, cy], [0, 0, 1]])
    flags = cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_K3
    rms, matrix, *_ = cv2.calibrateCamera(objects, pixels, known.size, start, None, flags=flags)
    return float(matrix[0, 0]), float(rms / np.sqrt(2.0))


def rows(photos: Path) -> Iterator[str]:
    """The table, a line each."""
    yield (
        "| photographs | used | f px | f px, OpenCV | off by, px | off by, px, OpenCV |"
        " others alone, px | others with the lens of half, px | refused |"
    )
    yield "|---|---|---|---|---|---|---|---|---|"
    boards = json.loads((photos / "boards.json").read_text())
    with tempfile.TemporaryDirectory() as folder:
        for name in SETS:
            yield row(photos, name, described(boards[name], Path(folder)))


if __name__ == "__main__":
    for line in rows(Path(sys.argv[1])):
        print(line, flush=True)
