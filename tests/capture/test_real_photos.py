"""Real photographs: one photo at a time must beat a plain pipeline's figures on the same photos.

The figures it is held against came with the photographs (half of the marks predict the
other half, same split): a homography per photo, and a lens calibrated on the whole set.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.honesty.real_photos import BASELINES, measure, measure_edges

QUICK = [
    "aruco_boards/ios_charuco_9x7",
    "aruco_boards/webcam_grid_6x4",
    "wideangle_charuco_screen",
    "classic_chessboards/compact_4x6",
    "phone_single_shots/panel_aruco_20x20.jpg",
]
SLOW = [name for name in BASELINES if name not in QUICK]


@pytest.mark.parametrize(
    "name", [*QUICK, *(pytest.param(name, marks=pytest.mark.slow) for name in SLOW)]
)
def test_better_than_a_plain_pipeline(photos: Path, name: str) -> None:
    got, plain = measure(photos, name), BASELINES[name]
    assert got.refused == 0
    assert got.kept > 0.8
    assert got.rms < plain.homography[0]
    assert got.p95 < plain.homography[1]
    if plain.calibrated is not None:
        assert got.rms < plain.calibrated[0]
        assert got.p95 < plain.calibrated[1]


@pytest.mark.parametrize(
    ("name", "pixel_mm"),
    [
        ("classic_chessboards/compact_4x6", 0.5),
        pytest.param("phone_chessboard_a4", 0.15, marks=pytest.mark.slow),
    ],
)
def test_printed_edges_are_straight_and_evenly_spaced(
    photos: Path, name: str, pixel_mm: float
) -> None:
    """Edges of a real print: straight to half a pixel, like edges two squares apart to one.

    The sheets are loose paper: what they bend is in the figure.
    """
    got = measure_edges(photos, name)
    assert got.straight < 0.5 * pixel_mm
    assert got.spacing < 1.5 * pixel_mm
