"""How sure a solved camera or run is of places, as tests hold it against the truth."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera
from scribe.capture.run.network import Network
from scribe.capture.run.network_model import LENS, SCALE, placed
from scribe.geom.propagation import standard_u

Array = npt.NDArray[np.float64]


def plane_u(camera: Camera, points: Array, normals: Array, height: float) -> Array:
    """(N,) mm standard uncertainty along the normals (N, 2) from lens and pose."""
    along = np.einsum("nd,ndp->np", normals, camera.plane_sensitivity(points, height))
    return standard_u(along, camera.covariance)


def place_covariance(network: Network, where: Sequence[tuple[int, Array]]) -> Array:
    """(3 N, 3 N) mm2 joint covariance of N printed points, each a (sheet, point (2,))."""
    rows = np.zeros((3 * len(where), network.seen.size))
    for k, (sheet, point) in enumerate(where):
        index = network.sheets.index(sheet)
        _, by = placed(network.seen, network.rig, index, np.asarray(point))
        unknowns = np.concatenate([LENS + np.arange(SCALE), network.seen.of_sheet(index)])
        free = unknowns >= 0
        rows[3 * k : 3 * k + 3, unknowns[free]] = by[:, free]
    return network.factor.covariance_of(rows)
