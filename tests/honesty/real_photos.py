"""Real photographs of boards of known size: solve on half of the marks, predict the other half.

`python -m tests.honesty.real_photos FOLDER` prints the table of docs/measuring.md. FOLDER
holds the photographs and boards.json; each set's origin and licence stand beside them.

The split is interleaved (a checkerboard of crossings, alternate markers), as in the figures
it is compared with: a plain pipeline's (one homography per photo; and a lens calibrated on
all photos of the set). Those figures came with the photographs. One photo at a time is
solved here, by the package's own path, with no knowledge of the others.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from scribe.board import charuco_board, marker_grid
from scribe.capture.edges.profile import fit_step
from scribe.capture.photo import Photo
from scribe.capture.photo_file import read_photo
from scribe.capture.pose.camera import Camera, lifted, resect
from scribe.capture.pose.lens_prior import lens_prior
from scribe.capture.pose.orient import orient
from scribe.capture.sheet.crossing import refine_crossings
from scribe.errors import ScribeError
from scribe.target import Target

Array = npt.NDArray[np.float64]
_MARK_U_PX = 0.1


@dataclass(frozen=True)
class Baseline:
    """rms, p95 and max in mm of a plain pipeline: a homography per photo, a calibrated lens."""

    homography: tuple[float, float, float]
    calibrated: tuple[float, float, float] | None


BASELINES = {
    "phone_chessboard_a4": Baseline((0.175, 0.295, 0.86), (0.156, 0.301, 0.76)),
    "aruco_boards/ios_charuco_9x7": Baseline((0.523, 0.962, 1.53), (0.195, 0.347, 0.78)),
    "aruco_boards/webcam_grid_6x4": Baseline((2.27, 5.12, 13.2), (0.410, 0.614, 2.47)),
    "aruco_boards/webcam_grid_4x5": Baseline((0.304, 0.559, 0.82), (0.298, 0.556, 0.81)),
    "wideangle_charuco_screen": Baseline((3.06, 5.33, 11.3), (0.207, 0.349, 1.17)),
    "classic_chessboards/compact_4x6": Baseline((0.287, 0.586, 0.78), (0.094, 0.166, 0.26)),
    "phone_single_shots/panel_aruco_20x20.jpg": Baseline((0.714, 1.315, 2.03), None),
}


@dataclass(frozen=True)
class Figures:
    """What a set gave: photos solved and refused; rms, p95, worst in mm; part of marks kept."""

    solved: int
    refused: int
    rms: float
    p95: float
    worst: float
    kept: float


def measure(folder: Path, name: str) -> Figures:
    """Predict half of the marks of every photo of a set from the other half."""
    board = json.loads((folder / "boards.json").read_text())[name]
    place = folder / name
    paths = sorted(place.glob("*.jpg")) if place.is_dir() else [place]
    errors, refused, kept = [], 0, []
    for path in paths:
        photo = read_photo(path)
        try:
            points, pixels, groups, camera, part = _marks(photo, board)
        except ScribeError:
            refused += 1
            continue
        errors.append(_predicted(photo, points, pixels, groups, camera))
        kept.append(part)
    error = np.concatenate(errors)
    return Figures(
        len(errors),
        refused,
        float(np.sqrt((error**2).mean())),
        float(np.quantile(error, 0.95)),
        float(error.max()),
        float(np.mean(kept)),
    )


def _marks(photo: Photo, board: dict) -> tuple[Array, Array, npt.NDArray[np.bool_], Camera, float]:
    """Places, pixels, which half each belongs to, a first camera, and the part of marks kept."""
    if board["type"] == "chessboard":
        return _chessboard(photo, board)
    target = _target(board)
    found = orient(photo, board=target)
    points = found.points[found.used]
    pitch = target.square_mm if len(target.crossings) else board["marker_mm"] + board["gap_mm"]
    cell = np.floor(points / pitch + (0.5 if len(target.crossings) else 1e-6)).astype(int)
    whole = len(target.crossings) or 4 * len(target.ids)
    return (
        points,
        found.pixels[found.used],
        cell.sum(axis=1) % 2 == 0,
        found.camera,
        float(found.used.sum() / whole),
    )


def _target(board: dict) -> Target:
    if board["type"] == "charuco":
        return charuco_board(
            board["dictionary"],
            tuple(board["squares"]),
            board["square_mm"],
            board["marker_mm"],
            legacy_pattern=board["legacy_pattern"],
        )
    return marker_grid(
        board["dictionary"], tuple(board["markers"]), board["marker_mm"], board["gap_mm"]
    )


def _chessboard(
    photo: Photo, board: dict
) -> tuple[Array, Array, npt.NDArray[np.bool_], Camera, float]:
    """A board without identities: OpenCV names the corners, the package measures them."""
    across, down = board["inner_corners"]
    side = board["square_mm"]
    found, corners = cv2.findChessboardCornersSB(photo.grey, (across, down))
    if not found:
        raise ScribeError("photo-no-marks", what="no board", where=photo.name, do="-")
    grid = corners.reshape(down, across, 2).astype(float)
    along, down_it = grid[0, -1] - grid[0, 0], grid[-1, 0] - grid[0, 0]
    if along[0] * down_it[1] < along[1] * down_it[0]:
        grid = grid[::-1]
    j, i = np.mgrid[0:down, 0:across]
    points = np.stack([i * side, (down - 1 - j) * side], axis=-1).reshape(-1, 2).astype(float)
    along, up = np.gradient(grid, axis=1) / side, -np.gradient(grid, axis=0) / side
    axes = np.stack([along, up], axis=2).reshape(-1, 2, 2)
    radius = np.linalg.svd(axes, compute_uv=False)[:, -1] * side * 0.4
    fits = refine_crossings(photo, grid.reshape(-1, 2), axes, radius)
    cell = np.stack([i, j], axis=-1).reshape(-1, 2).sum(axis=1) % 2 == 0
    prior = lens_prior(photo.exif, photo.size)
    start = _start(points, fits.pixels, prior.mean)
    good = fits.good
    solved = resect(points[good], fits.pixels[good], np.full(good.sum(), _MARK_U_PX), prior, start)
    return points[good], fits.pixels[good], cell[good], solved.camera, float(good.mean())


def _start(points: Array, pixels: Array, lens) -> Camera:
    matrix = np.array([[lens.f, 0, lens.cx], [0, lens.f, lens.cy], [0, 0, 1.0]])
    _, turn, shift = cv2.solvePnP(lifted(points, 0.0), pixels, matrix, None)
    rotation = np.asarray(cv2.Rodrigues(turn)[0], dtype=float)
    return Camera(lens, rotation, shift.ravel().astype(float), np.zeros((14, 14)))


def _predicted(
    photo: Photo, points: Array, pixels: Array, half: npt.NDArray[np.bool_], camera: Camera
) -> Array:
    prior = lens_prior(photo.exif, photo.size)
    u = np.full(half.sum(), _MARK_U_PX)
    solved = resect(points[half], pixels[half], u, prior, camera)
    return np.hypot(*(solved.camera.on_plane(pixels[~half], 0.0) - points[~half]).T)


@dataclass(frozen=True)
class Edges:
    """Printed edges of a real board, traced: mm.

    straight: rms of the points of one edge about their own straight line. spacing: rms of the
    distance between neighbouring edges of like polarity, less what it should be (two squares).
    """

    straight: float
    spacing: float
    edges: int


def measure_edges(folder: Path, name: str) -> Edges:
    """Trace the straight edges between the squares of a chessboard in every photo of a set."""
    board = json.loads((folder / "boards.json").read_text())[name]
    across, down = board["inner_corners"]
    side = board["square_mm"]
    bends, gaps, count = [], [], 0
    t = np.linspace(-0.2 * side, 0.2 * side, 61)
    for path in sorted((folder / name).glob("*.jpg")):
        photo = read_photo(path)
        _, _, _, camera, _ = _marks(photo, board)
        for axis, (along, lines) in enumerate(((across, down), (down, across))):
            direction, normal = np.eye(2)[axis], np.eye(2)[1 - axis]
            places = []
            for line in range(lines):
                x = (np.arange(along - 1)[:, None] + np.linspace(0.3, 0.7, 9)).ravel() * side
                foot = x[:, None] * direction + line * side * normal
                points = foot[:, None, :] + t[:, None] * normal
                light = photo.light(camera.pixels(lifted(points, 0.0)))
                fit = fit_step(t, light, pixel=camera.mm_per_px(foot, 0.0))
                rising = fit.high > fit.low
                for kind in (rising, ~rising):
                    good = kind & fit.ok
                    slope, level = np.polyfit(x[good], fit.position[good], 1)
                    bends.append(fit.position[good] - slope * x[good] - level)
                    places.append((line, bool(kind[0]), level + slope * x.mean() + line * side))
                    count += 1
            where = {(line, first): place for line, first, place in places}
            gaps += [
                where[line + 2, first] - place - 2 * side
                for (line, first), place in where.items()
                if (line + 2, first) in where
            ]
    return Edges(_rms(np.concatenate(bends)), _rms(np.array(gaps)), count)


def _rms(values: Array) -> float:
    return float(np.sqrt((values**2).mean()))


def rows(folder: Path) -> Iterator[str]:
    """The table, a line each."""
    yield (
        "| photographs | solved | marks kept | rms / 95 % / worst mm | one homography |"
        " calibrated lens |"
    )
    yield "|---|---|---|---|---|---|"
    for name, plain in BASELINES.items():
        got = measure(folder, name)
        calibrated = "-" if plain.calibrated is None else " / ".join(map(str, plain.calibrated))
        yield (
            f"| {name} | {got.solved} of {got.solved + got.refused} | {100 * got.kept:.0f} % |"
            f" {got.rms:.3f} / {got.p95:.3f} / {got.worst:.2f} |"
            f" {' / '.join(map(str, plain.homography))} | {calibrated} |"
        )


def edge_rows(folder: Path) -> Iterator[str]:
    """The table of traced edges, a line each."""
    yield "| printed edges | edges traced | straight to, rms mm | two squares apart to, rms mm |"
    yield "|---|---|---|---|"
    for name in ("phone_chessboard_a4", "classic_chessboards/compact_4x6"):
        got = measure_edges(folder, name)
        yield f"| {name} | {got.edges} | {got.straight:.3f} | {got.spacing:.3f} |"


if __name__ == "__main__":
    for row in edge_rows(Path(sys.argv[1])):
        print(row, flush=True)
    print()
    for row in rows(Path(sys.argv[1])):
        print(row, flush=True)
