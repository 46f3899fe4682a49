"""From a photo to its camera: right on scenes with known cameras, refused on spoiled ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

from scribe.board import charuco_board
from scribe.capture.exif import Exif
from scribe.capture.photo import Photo
from scribe.capture.photo_file import read_photo
from scribe.capture.photo_view import PhotoView
from scribe.capture.pose.camera import lifted
from scribe.capture.pose.orient import Oriented, orient, smeared
from scribe.capture.sheet.crossing import Crossings
from scribe.capture.sheet.paper import check_print_size, paper_scale, paper_size
from scribe.capture.sheet.tone import black_growth
from scribe.errors import ScribeError
from tests.capture.known import plane_u
from tests.scenes.scene import Scene, make_scene

GRID = np.stack(np.meshgrid(np.linspace(35, 180, 6), np.linspace(40, 260, 7)), axis=-1).reshape(
    -1, 2
)


@pytest.fixture(scope="module")
def scene() -> Scene:
    """A pencil line on the sheet, 3 megapixels."""
    return make_scene("line", 3, megapixels=3, shape="smooth", material="plain", height=0.0)


@pytest.fixture(scope="module")
def photo(scene: Scene, tmp_path_factory: pytest.TempPathFactory) -> Photo:
    return read_photo(scene.write(tmp_path_factory.mktemp("orient")))


@pytest.fixture(scope="module")
def oriented(photo: Photo) -> Oriented:
    return orient(photo)


def changed(photo: Photo, change: Callable[[np.ndarray], np.ndarray]) -> Photo:
    return Photo("changed.jpg", change(photo.grey.copy()), photo.exif)


def refused(photo: Photo) -> ScribeError:
    with pytest.raises(ScribeError) as caught:
        orient(photo)
    assert caught.value.where == photo.name
    return caught.value


def miss(scene: Scene, oriented: Oriented, height: float) -> np.ndarray:
    """(N,) mm between points of a plane and where the solved camera finds them."""
    seen = scene.camera.project(lifted(GRID, height))
    return np.hypot(*(oriented.camera.on_plane(seen, height) - GRID).T)


def test_every_crossing_of_a_plain_photo_is_used(oriented: Oriented) -> None:
    assert oriented.target.name == "scribe A4 window 1"
    assert oriented.used.all()
    assert oriented.noise_px < 0.05


@pytest.mark.parametrize("height", [0.0, 6.0])
def test_points_lie_where_they_are(scene: Scene, oriented: Oriented, height: float) -> None:
    """Within the stated U along both axes; in the sheet's plane within a hundredth of a mm."""
    U = 2 * np.hypot(
        *[
            plane_u(oriented.camera, GRID, np.tile(axis, (len(GRID), 1)), height)
            for axis in np.eye(2)
        ]
    )
    error = miss(scene, oriented, height)
    # U counts two standard deviations of a vector with two parts: 86 % of the points at least
    assert (error <= U * 1.5).mean() > 0.86
    if height == 0.0:
        assert error.max() < 0.01


def test_half_of_the_marks_hidden(scene: Scene, photo: Photo) -> None:
    """A hand over the lower half: fewer marks, a larger U, still right where marks are."""
    upper = changed(photo, lambda grey: _covered(grey, scene, low=0.0, high=140.0))
    found = orient(upper)
    assert 20 < found.used.sum() < 70
    near = GRID[GRID[:, 1] > 150]
    seen = scene.camera.project(lifted(near, 0.0))
    assert np.hypot(*(found.camera.on_plane(seen, 0.0) - near).T).max() < 0.02


def _covered(grey: np.ndarray, scene: Scene, low: float, high: float) -> np.ndarray:
    corners = np.array([[0, low], [210, low], [210, high], [0, high]], float)
    ring = np.rint(scene.camera.project(lifted(corners, 0.0))).astype(np.int32)
    cv2.fillPoly(grey, [ring], 120)
    return grey


@pytest.mark.parametrize("number", [2, 700])
def test_the_number_of_the_sheet(number: int) -> None:
    other = make_scene("line", 3, megapixels=1, shape="smooth", height=0.0, number=number)
    grey = cv2.cvtColor(other.pixels, cv2.COLOR_RGB2GRAY)
    found = orient(Photo("other.jpg", grey, Exif(1, None, "", True)))
    assert found.target.name == f"scribe A4 window {number}"


def test_a_number_that_nobody_can_read(scene: Scene, photo: Photo) -> None:
    """Every number marker painted over: nobody knows whose marks these are."""

    def paint(grey: np.ndarray) -> np.ndarray:
        sheet = orient(photo).target
        for marker in sheet.markers[~sheet.is_place]:
            ring = np.rint(scene.camera.project(lifted(marker, 0.0))).astype(np.int32)
            cv2.fillPoly(grey, [ring], 200)
        return grey

    assert refused(changed(photo, paint)).kind == "photo-no-number"


def test_no_marks() -> None:
    noise = np.random.default_rng(0).integers(0, 255, (900, 1200)).astype(np.uint8)
    assert refused(Photo("noise.png", noise, Exif(1, None, "", True))).kind == "photo-no-marks"


def test_too_few_marks(scene: Scene, photo: Photo) -> None:
    bare = changed(photo, lambda grey: _covered(grey, scene, low=0.0, high=277.0))
    bare = Photo(bare.name, _covered(bare.grey, scene, low=268.0, high=400.0), bare.exif)
    assert refused(bare).kind in ("photo-few-marks", "photo-no-marks")
    few = changed(photo, lambda grey: _keep_corner(grey, scene))
    assert refused(few).kind in ("photo-few-marks", "photo-few-crossings")


def _keep_corner(grey: np.ndarray, scene: Scene) -> np.ndarray:
    grey = _covered(grey, scene, low=0.0, high=250.0)
    return np.where(
        np.arange(grey.shape[1])[None] < scene.camera.project(np.array([[45.0, 275.0, 0.0]]))[0, 0],
        grey,
        120,
    ).astype(np.uint8)


def test_marks_of_two_prints(photo: Photo) -> None:
    other = make_scene(
        "line", 3, megapixels=3, shape="smooth", material="plain", height=0.0, number=2
    )
    both = np.hstack([photo.grey, cv2.cvtColor(other.pixels, cv2.COLOR_RGB2GRAY)])
    refusal = refused(Photo("both.jpg", both, photo.exif))
    assert refusal.kind == "photo-two-prints"
    assert "different sheets" in refusal.what
    halves = np.where(np.arange(photo.grey.shape[1]) < photo.grey.shape[1] // 2,
                      photo.grey, cv2.cvtColor(other.pixels, cv2.COLOR_RGB2GRAY))  # fmt: skip
    refusal = refused(Photo("halves.jpg", halves.astype(np.uint8), photo.exif))
    assert refusal.kind == "photo-two-prints"
    assert "no. 1" in refusal.what
    assert "no. 2" in refusal.what


def test_blurred(photo: Photo) -> None:
    """At about 6 px/mm markers can't be read any more from 4 px on: the reason is said."""
    for blur in (4.0, 25.0):
        soft = changed(photo, lambda grey, blur=blur: cv2.GaussianBlur(grey, (0, 0), blur))
        assert refused(soft).kind == "photo-blurred"


def test_a_bent_sheet(photo: Photo) -> None:
    """One half of the picture slides by up to 12 px: no camera explains that."""

    def bend(grey: np.ndarray) -> np.ndarray:
        height, width = grey.shape
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        shift = 12 * np.sin(2 * np.pi * y / height * 2) * np.sign(x - width / 2)
        return cv2.remap(grey, x, y + shift.astype(np.float32), cv2.INTER_LINEAR)

    assert refused(changed(photo, bend)).kind in ("marks-disagree", "sheet-bent")


def test_mirrored(photo: Photo) -> None:
    """A mirrored photo (a selfie camera) would give a mirrored template; its marks don't read."""
    assert refused(changed(photo, lambda grey: np.ascontiguousarray(grey[:, ::-1]))).kind in (
        "photo-no-marks",
        "photo-few-marks",
    )


def test_the_paper_is_as_large_as_it_is(oriented: Oriented) -> None:
    seen = paper_size(PhotoView(oriented, 0.0))
    assert seen.width == pytest.approx(210.0, abs=0.6)
    assert seen.height == pytest.approx(297.0, abs=0.6)


def test_printed_to_fit(tmp_path: Path) -> None:
    """A page shrunk to 97 % shows by its paper; the stated scale makes it right again."""
    shrunk = make_scene("line", 4, megapixels=3, material="plain", height=0.0,
                        print_scale=(0.97, 0.97), table="wood")  # fmt: skip
    photo = read_photo(shrunk.write(tmp_path))
    with pytest.raises(ScribeError) as caught:
        check_print_size(PhotoView(orient(photo), 0.0), checked=False)
    assert caught.value.kind == "print-scale-wrong"
    assert "97.1 x 97.1 %" in caught.value.what  # to a quarter of a mm of paper
    told = orient(photo, scale=(0.97, 0.97))
    check_print_size(PhotoView(told, 0.0), checked=True)
    with pytest.raises(ScribeError) as contradicted:
        check_print_size(PhotoView(orient(photo, scale=(1.0, 1.0)), 0.0), checked=True)
    assert contradicted.value.kind == "print-scale-contradicts"
    by_paper = paper_scale(PhotoView(orient(photo), 0.0))
    assert np.abs(np.array(by_paper.factors) - 0.97).max() < 2.0 * min(by_paper.u)
    seen = shrunk.camera.project(lifted(GRID, 0.0))
    assert np.hypot(*(told.camera.on_plane(seen, 0.0) - GRID).T).max() < 0.05


def test_bars_typed_the_wrong_way_round(tmp_path: Path) -> None:
    """Each side of the paper may be off by its tolerance, but hardly one to either end of it."""
    scene = make_scene("line", 4, megapixels=3, material="plain", height=0.0,
                       print_scale=(1.004, 0.996), table="wood")  # fmt: skip
    photo = read_photo(scene.write(tmp_path))
    check_print_size(PhotoView(orient(photo, scale=(1.004, 0.996)), 0.0), checked=True)
    with pytest.raises(ScribeError) as caught:
        check_print_size(PhotoView(orient(photo, scale=(0.996, 1.004)), 0.0), checked=True)
    assert caught.value.kind == "print-scale-contradicts"


@pytest.mark.parametrize("scale", [1.02, 1.03])
def test_printed_without_borders(tmp_path: Path, scale: float) -> None:
    """A page enlarged beyond its paper leaves less margin beside its marks."""
    enlarged = make_scene("line", 4, megapixels=3, material="plain", height=0.0,
                          print_scale=(scale, scale), table="wood")  # fmt: skip
    view = PhotoView(orient(read_photo(enlarged.write(tmp_path))), 0.0)
    assert paper_size(view).width == pytest.approx(210.0 / scale, abs=0.6)
    with pytest.raises(ScribeError) as caught:
        check_print_size(view, checked=False)
    assert caught.value.kind == "print-scale-wrong"


def test_tape_along_a_side_is_not_the_papers_edge(tmp_path: Path) -> None:
    scene = make_scene("line", 4, megapixels=3, material="plain", height=0.0, table="wood")
    strip = np.array([[204.0, -5.0], [216.0, -5.0], [216.0, 302.0], [204.0, 302.0]])
    corners = scene.camera.project(lifted(strip, 0.0))
    picture = read_photo(scene.write(tmp_path))
    dark = changed(picture, lambda grey: cv2.fillPoly(grey.copy(), [corners.astype(np.int32)], 60))
    view = PhotoView(orient(dark), 0.0)
    assert paper_size(view).width is None
    check_print_size(view, checked=False)


def test_tone_is_read_off_the_squares(oriented: Oriented) -> None:
    """The scene's tone curve is near sRGB: black grows by less than a tenth of a pixel."""
    assert black_growth(PhotoView(oriented, 0.0)) < 0.1 * 0.17


def test_a_described_board() -> None:
    """OpenCV's own ChArUco picture, laid flat before a camera: crossings to a tenth of a pixel."""
    board = charuco_board("DICT_4X4_100", (9, 7), 20.0, 14.0)
    theirs = cv2.aruco.CharucoBoard(
        (9, 7), 20.0, 14.0, cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    )
    picture = theirs.generateImage((1800, 1400), marginSize=0)
    page = np.full((1600, 2000), 200, np.uint8)
    page[100:1500, 100:1900] = picture
    tilt = cv2.getPerspectiveTransform(
        np.float32([[0, 0], [2000, 0], [2000, 1600], [0, 1600]]),
        np.float32([[150, 120], [1880, 60], [1950, 1560], [80, 1490]]),
    )
    seen = cv2.warpPerspective(page, tilt, (2000, 1600), flags=cv2.INTER_AREA, borderValue=200)
    found = orient(Photo("board.png", cv2.GaussianBlur(seen, (0, 0), 0.8), Exif(1, None, "", True)),
                   board=board)  # fmt: skip
    assert found.used.all()
    assert found.noise_px < 0.2


@pytest.mark.parametrize(
    ("sharp", "blur_px", "outside", "refused"),
    [(18, 3.0, 0, True), (50, 3.0, 0, False), (18, 0.8, 0, False), (18, 3.0, 50, False)],
)
def test_few_sharp_marks_in_a_smeared_photo_are_chance(
    sharp: int, blur_px: float, outside: int, refused: bool
) -> None:
    """Of 94 marks; what lies outside of the photo isn't missed."""
    pixels = np.full((94, 2), 500.0)
    pixels[94 - outside :] = -20.0
    found = Crossings(pixels, np.ones(94), np.full(94, blur_px), np.arange(94) < sharp)
    photo = Photo("a.jpg", np.zeros((1000, 1000), np.uint8), Exif(1, None, "", True))
    assert smeared(photo, found) is refused
