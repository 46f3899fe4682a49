"""The height of a board beside the strips, from photos of its upper edge and of its foot.

No pixels: points of a true edge through the true cameras, back onto a plane through the solved
ones. The board lies below the edge (y), square, and is 18 mm thick.
"""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.run.height import height_of_run, side_in_view
from scribe.capture.run.network import Network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.trace import Piece
from scribe.capture.run.view import placed_photo
from scribe.capture.view import Trace
from scribe.geom.polyline import normals
from tests.capture.run_world import SIZE, Run, make_run

THICK = 18.0
NOISE = 0.02  # mm


def _world(seed: int) -> tuple[Run, Network, float]:
    """Four photos; the edge's y, so that two cameras stand on each side of it."""
    run = make_run(seed, length=1200.0, strips=4, photos=4)
    network = solve_network(run.seen(seed), scale=ScalePrior(np.ones(2), np.full(2, 1e-6)))
    y = float(np.median([camera.position[1] for camera in run.cameras]))
    return run, network, y


def _pieces(run: Run, network: Network, y: float, seed: int, *, feet: bool) -> list[Piece]:
    """What each photo shows as the edge, traced on z = 0."""
    rng = np.random.default_rng(seed)
    x = np.arange(0.0, 1200.0, 2.0)
    pieces = []
    for index, camera in enumerate(run.cameras):
        z = 0.0 if feet and camera.position[1] > y else THICK
        edge = np.column_stack([x, np.full(len(x), y), np.full(len(x), z)])
        pixels = camera.project(edge)
        seen = (edge - camera.position) @ camera.rotation.T
        ahead = np.hypot(seen[:, 0], seen[:, 1]) < 1.2 * seen[:, 2]
        # The tilted photos of the scenes needn't show the strips and the edge: only x counts.
        shown = ahead & (pixels[:, 0] > 0) & (pixels[:, 0] < SIZE[0])
        placed = placed_photo(network, index)
        points = placed.oriented.camera.on_plane(pixels[shown], 0.0)
        across = normals(points)
        points = points + NOISE * rng.standard_normal(len(points))[:, None] * across
        trace = Trace(
            points, np.full(len(points), NOISE), across, np.ones(len(points), bool),
            {"object": "below"}, np.zeros((0, 2)),
        )  # fmt: skip
        pieces.append(Piece(index, network.photos[index], placed, 0.0, trace, 0.0))
    return pieces


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_foot_in_some_photos_is_told_from_the_upper_edge(seed: int) -> None:
    run, network, y = _world(seed)
    pieces = _pieces(run, network, y, seed, feet=True)
    assert [side_in_view(piece) for piece in pieces] == [
        bool(camera.position[1] > y) for camera in run.cameras
    ]
    as_edges = height_of_run(pieces, network.roots())
    as_feet = height_of_run(pieces, network.roots(), 0.0)
    assert as_edges is not None
    assert as_feet is not None
    assert abs(as_feet.height - THICK) < 3.0 * as_feet.u  # k = 3: three chances
    assert as_edges.misfit > 2.0 * as_feet.misfit
    assert abs(as_edges.height - THICK) > 1.0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_upper_edges_alone_are_not_taken_for_feet(seed: int) -> None:
    """A side unlike the face: all photos show the upper edge, wherever they stand."""
    run, network, y = _world(seed)
    pieces = _pieces(run, network, y, seed, feet=False)
    as_edges = height_of_run(pieces, network.roots())
    as_feet = height_of_run(pieces, network.roots(), 0.0)
    assert as_edges is not None
    assert as_feet is not None
    assert abs(as_edges.height - THICK) < 3.0 * as_edges.u
    assert as_feet.misfit > 2.0 * as_edges.misfit
