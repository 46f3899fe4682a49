"""A lens learnt from photos: against truth, against an independent calibration, and refusals."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from scribe.camera_file import read_camera
from scribe.capture.photo_file import read_photo
from scribe.capture.pose.calibrate import stored
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.orient import orient
from scribe.errors import ScribeError
from scribe.recipes.camera import learn, orient_one, write_learnt
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.capture.pose.test_flatness import spoiled
from tests.scenes.scene import Scene, make_scene
from tests.scenes.spoil import curl

LENS = (-0.06, 0.03, 3e-4, -2e-4, 0.0)
VIEWS = [(3, 0), (28, -90), (30, 90), (28, 0), (30, 180), (22, -45)]  # tilt, azimuth


def scene(seed: int, tilt: float, azimuth: float, focal: float = 26.0, **more) -> Scene:
    # The scene maker draws its lens upright: one way of holding the phone is one sensor.
    options = {"orientation": 6, "sharpen": 0.0, "bend": 0.0} | more
    return make_scene(
        "line", seed, megapixels=2, tilt_deg=tilt, azimuth_deg=azimuth, focal_35mm=focal,
        lens=LENS, fill=0.95, height=0.0, material="plain", shape="smooth", **options,
    )  # fmt: skip


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("lens")
    return [scene(300 + k, *view).write(folder) for k, view in enumerate(VIEWS)]


@pytest.fixture(scope="module")
def camera(photos: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("camera") / "camera.toml"
    written = write_learnt(learn(photos, None), path, force=False)
    assert [each.name for each in written] == ["camera.toml", "camera.svg"]
    return path


def test_the_true_lens_lies_within_what_was_learnt(camera: Path) -> None:
    """Chi-square of f, cx, cy, k1, k2 against the covariance in the file, 99.9 %: 20.5."""
    known = read_camera(camera)
    made = scene(300, 3, 0).camera
    truth = Lens(made.f_px, *made.centre, LENS[0], LENS[1], LENS[2], LENS[3], LENS[4])
    # The scene maker shifts the principal point from photo to photo, as stabilisation does: the
    # mean of six such shifts of +-0.6 % of the narrow side is what the photos can know.
    wide, tall = known.size
    shift = (0.006 * tall) ** 2 / 3 / 6
    spread = known.covariance + np.diag([0, shift, shift, 0, 0, 0, 0, 0])
    away = known.values[:5] - np.array([truth.f, (wide - 1) / 2, (tall - 1) / 2, *LENS[:2]])
    assert away @ np.linalg.solve(spread[:5, :5], away) < 20.5
    assert known.values[0] == pytest.approx(truth.f, rel=0.004)
    assert known.covariance[0, 0] ** 0.5 < 0.004 * truth.f


def test_an_independent_calibration_agrees(photos: list[Path], camera: Path) -> None:
    """OpenCV's calibrateCamera on the same marks, square pixels.

    It holds the principal point still, so shifts of it from photo to photo go into its f.
    """
    seen = [stored(orient_one(path, None)) for path in photos]
    objects = [
        np.column_stack([s.points[s.used], np.zeros(s.used.sum())]).astype(np.float32) for s in seen
    ]
    pixels = [s.pixels[s.used].astype(np.float32) for s in seen]
    known = read_camera(camera)
    start = np.array(
        [[known.values[0], 0, known.values[1]], [0, known.values[0], known.values[2]], [0, 0, 1]]
    )
    rms, matrix, *_ = cv2.calibrateCamera(
        objects, pixels, known.size, start, None,
        flags=cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_K3,
    )  # fmt: skip
    assert matrix[0, 0] == pytest.approx(known.values[0], abs=0.008 * known.values[0])
    assert known.noise_px < rms / np.sqrt(2)


def test_a_photo_is_known_better_with_its_lens(camera: Path, tmp_path: Path) -> None:
    """Six millimetres above the sheet the lens matters: its part of U falls."""
    photo = make_scene(
        "edge", 311, megapixels=2, tilt_deg=20, focal_35mm=26.0, lens=LENS, height=9.0,
        material="grey", shape="smooth", orientation=6, fill=0.95,
    )  # fmt: skip
    path = photo.write(tmp_path)
    alone = trace(PhotoSource((path,), "edge", height=9.0))
    helped = trace(PhotoSource((path,), "edge", height=9.0, camera=camera))
    for name in ("lens", "pose"):
        assert helped.outline.budget[name].max() <= 1.05 * alone.outline.budget[name].max()
    assert helped.outline.budget["lens"].mean() < 0.7 * alone.outline.budget["lens"].mean()
    assert "lens of camera.toml" in helped.facts["camera"]


def test_another_zoom_is_noticed(camera: Path, tmp_path: Path) -> None:
    told = scene(321, 25, -80, focal=34.0)
    path = told.write(tmp_path / "told")
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((path,), "line", height=0.0, camera=camera))
    assert caught.value.kind == "camera-differs"
    # Without a focal length in the file the marks themselves tell.
    silent = told.with_sensor(exif=False, orientation=1).write(tmp_path)
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((silent,), "line", height=0.0, camera=camera))
    assert caught.value.kind == "camera-differs"


def test_a_strange_photo_is_left_out_and_named(photos: list[Path], tmp_path: Path) -> None:
    stranger = make_scene(
        "line", 330, megapixels=2, tilt_deg=25, focal_35mm=26.0, lens=(0.09, -0.02, 0, 0, 0),
        fill=0.95, height=0.0, material="plain", orientation=6,
    ).write(tmp_path)  # fmt: skip
    learnt = learn([*photos, stranger], None)
    assert list(learnt.left_out) == [stranger.name]
    assert "another camera, lens or zoom" in learnt.left_out[stranger.name]


def test_what_cannot_be_learnt_from_is_refused(photos: list[Path], tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as few:
        learn(photos[:2], None)
    assert few.value.kind == "camera-few-photos"
    small = make_scene("line", 331, megapixels=1, height=0.0, orientation=6).write(tmp_path)
    with pytest.raises(ScribeError) as mixed:
        learn([*photos[:3], small], None)
    assert mixed.value.kind == "camera-photos-disagree"
    damaged = tmp_path / "bad.toml"
    damaged.write_text(
        "size = [10, 10]\n[lens]\n"
        + "".join(f"{name} = 1.0\n" for name in ("f", "cx", "cy", "k1", "k2", "p1", "p2", "k3"))
        + "covariance = ["
        + "[0,0,0,0,0,0,0,0]," * 8
        + "]\n",
        "utf-8",
    )
    with pytest.raises(ScribeError) as bad:
        read_camera(damaged)
    assert bad.value.kind == "camera-file-damaged"
    printer = tmp_path / "printer.toml"
    printer.write_text("x = 1.0\ny = 1.0\n", "utf-8")
    with pytest.raises(ScribeError) as other:
        read_camera(printer)
    assert (other.value.kind, other.value.what) == ("camera-file-damaged", "there is no lens in it")


def test_a_bent_sheet_does_not_hide_another_lens(
    photos: list[Path], camera: Path, tmp_path: Path
) -> None:
    """A wrong k1 looks much like a bent sheet: over one, the marks' misfit has to tell."""
    drawn = scene(301, *VIEWS[1])
    photo = read_photo(spoiled(photos[1], drawn, curl, tmp_path, 2.0, 0.3))
    known = read_camera(camera)
    # The curled photo was stored upright, the learnt ones on their side.
    known = replace(known, size=known.size[::-1], values=known.values[[0, 2, 1, 3, 4, 5, 6, 7]])
    assert orient(photo, known=known).bend_mm > 0.5
    barrel = replace(known, values=known.values - np.array([0, 0, 0, 0.01, 0, 0, 0, 0]))
    with pytest.raises(ScribeError) as caught:
        orient(photo, known=barrel)
    assert caught.value.kind == "camera-differs"
