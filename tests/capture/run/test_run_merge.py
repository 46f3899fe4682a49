"""Stretches of a run laid together: seams, weights, gaps, contradictions, and the truth within U.

The stretches are made without pixels: points of a known line through the true cameras of the
scenes, back onto the board through the solved ones.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.capture.run.agree import agreeing
from scribe.capture.run.ends import early_ends
from scribe.capture.run.marks import read_run
from scribe.capture.run.merge import merged_run, run_axis
from scribe.capture.run.network import Network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.trace import Piece
from scribe.capture.run.view import placed_photo
from scribe.capture.sheet.sheets_seen import refuse_twice
from scribe.capture.view import Trace
from scribe.errors import ScribeError
from scribe.geom.polyline import normals
from scribe.outline import Outline
from tests.capture.run_world import SIZE, Array, Run, make_run

EXACT = ScalePrior(np.ones(2), np.full(2, 1e-6))
LINE_NOISE = 0.01  # mm


def _line(length: float) -> Array:
    """(N, 2) mm on the board: a wavy line above the strips."""
    x = np.arange(5.0, length - 5.0, 1.0)
    return np.column_stack([x, 75.0 + 4.0 * np.sin(x / 180.0)])


def _pieces(run: Run, network: Network, line: Array, seed: int) -> list[Piece]:
    rng = np.random.default_rng([seed, 8])
    pieces = []
    for index, camera in enumerate(run.cameras):
        board = np.column_stack([line, np.zeros(len(line))])
        pixels = camera.project(board)
        seen = (board - camera.position) @ camera.rotation.T
        ahead = np.hypot(seen[:, 0], seen[:, 1]) < 0.9 * seen[:, 2]
        shown = ahead & ((pixels > 30) & (pixels < np.array(SIZE) - 30)).all(axis=1)
        placed = placed_photo(network, index)
        points = placed.oriented.camera.on_plane(pixels[shown], 0.0)
        across = normals(points)
        points = points + LINE_NOISE * rng.standard_normal(len(points))[:, None] * across
        trace = Trace(
            points, np.full(len(points), LINE_NOISE), across, np.ones(len(points), bool), {},
            np.zeros((0, 2)),
        )  # fmt: skip
        pieces.append(Piece(index, network.photos[index], placed, 0.0, trace, 0.0))
    return pieces


def _raised(trace: Trace, by: float) -> Trace:
    return replace(trace, points=trace.points + np.array([0.0, by]))


def _merged(run: Run, network: Network, line: Array, seed: int) -> Outline:
    pieces = _pieces(run, network, line, seed)
    kept, said = agreeing(pieces, network.roots(), 0.0, run_axis(pieces))
    assert not said
    return merged_run(kept, network.roots(), 0.0, "test")


def _off(run: Run, line: Array, outline: Outline) -> Array:
    """(N,) mm across, found minus true, in the frame of the first strip."""
    truth = run.in_first(line)
    return np.asarray(
        outline.points[:, 1] - np.interp(outline.points[:, 0], truth[:, 0], truth[:, 1])
    )


def test_more_photos_of_one_place_locate_a_line_no_better() -> None:
    """Pencil and grain are the same in all photos: where each knows the line to u, all do."""
    run = make_run(1, length=1200.0, strips=4, photos=4, overview=True)
    network = solve_network(run.seen(1), scale=EXACT)
    outline = _merged(run, network, _line(1200.0), 1)
    assert outline.budget["localisation"] == pytest.approx(LINE_NOISE)


def test_an_outline_that_ends_before_the_strips_do_is_said_to() -> None:
    run = make_run(1, length=1200.0, strips=4, photos=4)
    network = solve_network(run.seen(1), scale=EXACT)
    placed = [placed_photo(network, index) for index in range(4)]
    axis = np.array([1.0, 0.0])
    line = run.in_first(_line(1200.0))
    assert early_ends(line, placed, axis, "line") == []
    (words,) = early_ends(line[: np.searchsorted(line[:, 0], 900.0)], placed, axis, "line")
    assert re.match(r"The line is seen to (899|900) mm only, the strips go on to 11\d\d\.", words)
    (words,) = early_ends(line[np.searchsorted(line[:, 0], 300.0) :], placed, axis, "edge")
    assert re.match(r"The edge is seen from 30[01] mm on only, the strips begin at \d+\.", words)


def test_bow_and_place_of_the_whole_run_lie_within_U() -> None:
    inside, bows = [], []
    for seed in range(12):
        run = make_run(seed, length=2400.0, strips=8, photos=7, overview=seed % 2 == 0)
        network = solve_network(run.seen(seed), scale=EXACT)
        line = _line(2400.0)
        outline = _merged(run, network, line, seed)
        off = _off(run, line, outline)
        inside.append(float(np.mean(np.abs(off[::20]) < outline.U[::20])))
        part = np.linspace(0.0, 1.0, len(off))
        bow = off - off[0] - part * (off[-1] - off[0])
        gradient = np.zeros_like(outline.points)
        middle = len(off) // 2
        gradient[[0, middle, -1], 1] = -0.5, 1.0, -0.5
        bows.append(float(bow[middle] / outline.quantity_u(gradient)))
        # Seams leave no step: neighbours differ by their own noise and the line's slope alone.
        assert np.abs(np.diff(off)).max() < 8.0 * LINE_NOISE
    # 12 runs whose points move together: at least 9 of them inside nearly everywhere.
    assert np.sort(inside)[3] > 0.9
    # Bow over its u: standard normal, 12 draws; the priors on tilt are wider than the scene.
    assert 0.3 < np.sqrt(np.mean(np.square(bows))) < 1.0 + 2.5 / np.sqrt(24.0)


def test_a_stretch_of_something_else_is_left_out_by_name() -> None:
    run = make_run(1, length=2400.0, strips=8, photos=10, overlap=700.0)
    network = solve_network(run.seen(1), scale=EXACT)
    pieces = _pieces(run, network, _line(2400.0), 1)
    wrong = _raised(pieces[4].trace, 25.0)
    pieces[4] = replace(pieces[4], trace=wrong)
    kept, said = agreeing(pieces, network.roots(), 0.0, run_axis(pieces))
    assert [piece.name for piece in kept] == [f"photo{k}" for k in (1, 2, 3, 4, 6, 7, 8, 9, 10)]
    assert "photo5 was left out" in said[0]
    assert "25.0 mm" in said[0]


def test_two_stretches_that_contradict_each_other_are_refused() -> None:
    run = make_run(1, length=1200.0, strips=4, photos=2)
    network = solve_network(run.seen(1), scale=EXACT)
    pieces = _pieces(run, network, _line(1200.0), 1)
    wrong = _raised(pieces[1].trace, 2.0)
    pieces[1] = replace(pieces[1], trace=wrong)
    with pytest.raises(ScribeError, match=r"2\.0 mm apart") as refused:
        agreeing(pieces, network.roots(), 0.0, run_axis(pieces))
    assert refused.value.kind == "run-disagrees"


def test_a_gap_is_named_with_its_place() -> None:
    run = make_run(1, length=2400.0, strips=8, photos=8)
    network = solve_network(run.seen(1), scale=EXACT)
    pieces = _pieces(run, network, _line(2400.0), 1)
    short = [p for k, p in enumerate(pieces) if k not in (3, 4)]
    ends = max(p.trace.points[:, 0].max() for p in short[:3])
    begins = min(p.trace.points[:, 0].min() for p in short[3:])
    assert begins > ends + 3.0
    with pytest.raises(ScribeError, match="Take one more photo there") as refused:
        merged_run(short, network.roots(), 0.0, "test")
    assert refused.value.kind == "run-gap"
    first, last = (int(word) for word in re.findall(r"\d+", refused.value.what))
    assert first == pytest.approx(ends, abs=3.0)  # along the run, which leans a little
    assert last == pytest.approx(begins, abs=3.0)
    with pytest.raises(ScribeError, match=r"mm \(photo4 was left out: zoomed\)") as refused:
        merged_run(short, network.roots(), 0.0, "test", "photo4 was left out: zoomed")
    assert refused.value.kind == "run-gap"


def test_one_sheet_twice_in_a_photo_is_refused() -> None:
    refuse_twice("wall.jpg", [1, 2, 3])
    with pytest.raises(ScribeError, match=r"sheet no\. 2 twice") as refused:
        refuse_twice("wall.jpg", [1, 2, 3, 2])
    assert refused.value.kind == "sheet-twice"


def test_photos_that_cannot_be_read_come_back_from_the_workers(tmp_path: Path) -> None:
    paths = [tmp_path / f"{k}.jpg" for k in range(3)]
    with pytest.raises(ScribeError, match=r"0\.jpg") as refused:
        read_run(paths, scale=(1.0, 1.0))
    assert refused.value.kind == "photo-missing"
