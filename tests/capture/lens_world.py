"""Worlds without pictures for lenses: marks projected by OpenCV, scattered by a known noise."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from scribe.camera_file import KnownLens
from scribe.capture.exif import Exif
from scribe.capture.photo import Photo
from scribe.capture.pose.calibrate import Calibrated, calibrate
from scribe.capture.pose.camera import Camera, lifted, resect, rotation_by
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_known import known_prior
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.pose.orient import Oriented
from scribe.target import window_sheet
from tests.capture.known import plane_u

SIZE = (4032, 3024)
SHEET = window_sheet("A4", 1)
EXIF = Exif(1, 3100.0, "", True)
MARKS = lifted(SHEET.crossings, 0.0)
NOISE_PX = 0.1
WINDOW = np.array([[40.0, 60.0], [170.0, 60.0], [105.0, 150.0], [40.0, 240.0], [170.0, 240.0]])


def hand_held(rng: np.random.Generator, lens: Lens, tilt_deg: float) -> Camera:
    """The sheet fills the frame, its long side along the photo's, tilted in some direction."""
    azimuth = rng.uniform(0, 2 * np.pi)
    down = rotation_by(np.array([0.0, 0.0, np.pi / 2])) @ np.diag([1.0, -1.0, -1.0])
    axis = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    rotation = rotation_by(np.radians(tilt_deg) * axis) @ down
    at = np.array([*rng.uniform(-12, 12, 2), 330.0])
    shift = at - rotation @ np.array([105.0, 148.5, 0.0])
    return Camera(lens, rotation, shift, np.zeros((14, 14)))


def seen_by(camera: Camera, points: np.ndarray) -> np.ndarray:
    """Pixels by OpenCV's own projection."""
    lens = camera.lens
    matrix = np.array([[lens.f, 0, lens.cx], [0, lens.f, lens.cy], [0, 0, 1]])
    terms = np.array([lens.k1, lens.k2, lens.p1, lens.p2, lens.k3])
    turn = cv2.Rodrigues(camera.rotation)[0]
    pixels, _ = cv2.projectPoints(points, turn, camera.translation, matrix, terms)
    return np.asarray(pixels.reshape(-1, 2))


def a_photo(rng: np.random.Generator, true: Camera, prior: LensPrior) -> Oriented:
    pixels = seen_by(true, MARKS) + rng.normal(0.0, NOISE_PX, (len(MARKS), 2))
    start = replace(true, lens=prior.mean)
    solved = resect(SHEET.crossings, pixels, np.full(len(MARKS), NOISE_PX), prior, start)
    empty = Photo("photo", np.broadcast_to(np.zeros((), np.uint8), SIZE[::-1]), EXIF)
    used = np.ones(len(MARKS), bool)
    return Oriented(
        empty, SHEET, solved.camera, SHEET.crossings, pixels, used, solved.residuals,
        (1.0, 1.0), solved.noise_px, 0.8, 0.0,
    )  # fmt: skip


def drawn(rng: np.random.Generator, prior: LensPrior) -> Lens:
    away = np.sqrt(np.diag(prior.covariance)) * rng.normal(size=8).clip(-2, 2)
    return Lens.of(prior.mean.values() + away)


def shifted(rng: np.random.Generator, lens: Lens) -> Lens:
    """As stabilisation leaves it in one photo: 0.2 % of the frame's longer side."""
    cx, cy = np.array([lens.cx, lens.cy]) + rng.normal(0.0, 0.002 * SIZE[0], 2)
    return replace(lens, cx=float(cx), cy=float(cy))


def learnt(rng: np.random.Generator, lens: Lens, tilts: tuple[float, ...]) -> Calibrated:
    prior = lens_prior(EXIF, SIZE)
    views = [hand_held(rng, shifted(rng, lens), tilt) for tilt in tilts]
    return calibrate([a_photo(rng, view, prior) for view in views], prior)


def learnt_of_many(
    rng: np.random.Generator, lens: Lens, tilts: tuple[float, ...], k1_sd: float
) -> Calibrated:
    """Photos whose lenses differ: what no lens model says of a lens looks like that."""
    prior = lens_prior(EXIF, SIZE)
    lenses = [replace(lens, k1=lens.k1 + rng.normal(0.0, k1_sd)) for _ in tilts]
    views = [hand_held(rng, each, tilt) for each, tilt in zip(lenses, tilts, strict=True)]
    return calibrate([a_photo(rng, view, prior) for view in views], prior)


def prior_of(found: Calibrated, photos: int) -> LensPrior:
    """The learnt lens as the prior of another photo of the same size, whose file says nothing."""
    values, covariance = found.lens.values(), found.covariance
    known = KnownLens("", SIZE, values, covariance, photos, found.noise_px)
    return known_prior(known, replace(EXIF, focal_px=None), SIZE, "photo")


def another_photo(rng: np.random.Generator, lens: Lens) -> tuple[Camera, np.ndarray]:
    """A later photo's camera, with its own breathing and shift, and its marks as measured."""
    new = replace(shifted(rng, lens), f=lens.f * (1.0 + rng.normal(0.0, 0.003)))
    true = hand_held(rng, new, rng.uniform(5, 25))
    return true, seen_by(true, MARKS) + rng.normal(0.0, NOISE_PX, (len(MARKS), 2))


def above_the_sheet(
    true: Camera, pixels: np.ndarray, prior: LensPrior, height: float = 6.0
) -> tuple[np.ndarray, np.ndarray]:
    """(5, 2) error and (5, 2) u, mm, of points at that height solved with this prior."""
    start = replace(true, lens=prior.mean)
    camera = resect(SHEET.crossings, pixels, np.full(len(MARKS), NOISE_PX), prior, start).camera
    error = camera.on_plane(seen_by(true, lifted(WINDOW, height)), height) - WINDOW
    u = [plane_u(camera, WINDOW, np.tile(axis, (len(WINDOW), 1)), height) for axis in np.eye(2)]
    return error, np.stack(u, axis=1)
