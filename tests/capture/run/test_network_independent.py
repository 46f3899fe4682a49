"""The same run solved by other people's code: SciPy's solver and rotations, OpenCV's lens.

The model is written again from the description of the problem alone: cv2.projectPoints for
the photos, rotation vectors of scipy.spatial, numerical derivatives. It knows the same as the
network does beforehand (its priors, stated here in numbers), so places and uncertainties must
agree, not only lie near each other.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from scribe.capture.run.network import Network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.target import strip_sheet
from tests.capture.known import place_covariance
from tests.capture.run_world import FOCAL_PX, NOISE_PX, SIZE, Array, Run, make_run

SCALE_SD = 0.002
SHEETS, PHOTOS = 3, 3
MIDDLE = np.array([143.5, 25.0])
# 8 of the lens, 2 of the scale, 8 a photo (turn, shift, sensor), 6 a sheet (turn, place of its
# middle): the first sheet's x, y and turn in the plane stay 0.
COUNT = 8 + 2 + 8 * PHOTOS + 6 * SHEETS


class Model:
    """Residuals of the whole problem in standard deviations, from a plain vector."""

    def __init__(self, run: Run, network: Network) -> None:
        self.photos = run.seen(1)
        self.pairs = network.known.neighbours
        self.lens = np.array([FOCAL_PX, 1999.5, 1499.5, 0, 0, 0, 0, 0])
        # camera.lens_prior for a focal length told by the file: 4 %, 1 % of the long side for
        # the centre, 0.1 for k1 and k2, half of it for k3, 0.002 for p1 and p2.
        self.lens_sd = np.array([0.04 * FOCAL_PX, 40.0, 40.0, 0.1, 0.1, 2e-3, 2e-3, 0.05])

    def sheet(self, x: Array, sheet: int) -> tuple[Array, Array]:
        own = x[10 + 8 * PHOTOS + 6 * sheet :][:6].copy()
        return Rotation.from_rotvec(own[:3]).as_matrix(), own[3:]

    def place(self, x: Array, sheet: int, printed: Array) -> Array:
        turn, middle = self.sheet(x, sheet)
        pivot = np.zeros(2) if sheet == 0 else MIDDLE
        flat = np.column_stack([(printed - pivot) * x[8:10], np.zeros(len(printed))])
        return np.asarray(flat @ turn.T + middle)

    def __call__(self, x: Array) -> Array:
        parts = [(x[:8] - self.lens) / self.lens_sd, (x[8:10] - 1.0) / SCALE_SD]
        f, cx, cy, k1, k2, p1, p2, k3 = x[:8]
        for k, photo in enumerate(self.photos):
            own = x[10 + 8 * k :][:8]
            matrix = np.array([[f, 0, cx + own[6]], [0, f, cy + own[7]], [0, 0, 1]])
            parts.append(own[6:] / (0.004 * SIZE[0]))
            for marks in photo.seen:
                place = self.place(x, marks.sheet - 1, marks.points)
                bent = np.array([k1, k2, p1, p2, k3])
                pixels = cv2.projectPoints(place, own[:3], own[3:6], matrix, bent)[0][:, 0]
                parts.append(((pixels - marks.pixels) / NOISE_PX).ravel())
        normals = []
        for s in range(SHEETS):
            turn, middle = self.sheet(x, s)
            normal = turn[:, 2]
            normals.append(normal)
            parts.append(np.array([middle[2] / 5.0, normal[0] / 0.01, normal[1] / 0.01]))
        for a, b in self.pairs:
            (_, at), (_, to) = self.sheet(x, a), self.sheet(x, b)
            mean = -(normals[a] + normals[b])[:2] / 2.0
            rise = to[2] - at[2] - mean @ (to - at)[:2]
            parts.append(np.array([rise / 0.15, *((normals[b] - normals[a])[:2] / 0.002)]))
        # Held: the first sheet's turn in the plane and place.
        parts.append(x[10 + 8 * PHOTOS :][[2, 3, 4]] / 1e-6)
        return np.concatenate(parts)


def _start(run: Run) -> Array:
    """The truth, which is also near enough to begin with."""
    angle, x0, y0, _ = run.strips[1]
    board = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0],
                      [0, 0, 1]])  # fmt: skip
    corner = np.array([x0, y0, 0.0])
    x = np.zeros(COUNT)
    camera = run.cameras[0]
    x[:8] = [camera.f_px, *camera.centre, *camera.lens]
    x[8:10] = 1.0
    for k, each in enumerate(run.cameras):
        turn = each.rotation @ board
        x[10 + 8 * k :][:3] = Rotation.from_matrix(turn).as_rotvec()
        x[10 + 8 * k + 3 :][:3] = each.rotation @ (corner - each.position)
    for s in range(1, SHEETS):
        own = x[10 + 8 * PHOTOS + 6 * s :]
        own[2] = run.strips[s + 1][0] - angle
        middle = np.array([MIDDLE])
        own[3:5] = run.in_first(run.on_board(s + 1, middle))[0]
    return x


@pytest.mark.parametrize("seed", [3, 8])
def test_places_lens_and_their_u_agree_with_another_solver(seed: int) -> None:
    run = make_run(seed, length=1000.0, strips=SHEETS, photos=PHOTOS)
    network = solve_network(run.seen(1), scale=ScalePrior(np.ones(2), np.full(2, SCALE_SD)))
    model = Model(run, network)
    other = least_squares(model, _start(run), x_scale="jac", method="trf", xtol=1e-12, ftol=1e-12)
    assert other.success
    covariance = np.linalg.inv(other.jac.T @ other.jac)

    ends = np.array([[20.0, 11.0], [270.0, 39.0]])
    for s in range(1, SHEETS):
        wanted = model.place(other.x, s, ends)[:, :2].ravel()
        found = network.place(s + 1, ends)[:, :2].ravel()
        by = np.empty((4, COUNT))
        for k in range(COUNT):
            step = np.zeros(COUNT)
            step[k] = 1e-6
            ahead, behind = (model.place(other.x + sign * step, s, ends) for sign in (1, -1))
            by[:, k] = ((ahead - behind)[:, :2] / 2e-6).ravel()
        u = np.sqrt(np.diag(by @ covariance @ by.T))
        flat = [0, 1, 3, 4]
        own = place_covariance(network, [(s + 1, end) for end in ends])[np.ix_(flat, flat)]
        # Apart by what the robust loss and the noise's own scale make, which SciPy's doesn't have.
        assert np.all(np.abs(found - wanted) < 0.4 * u)
        assert np.sqrt(np.diag(own)) == pytest.approx(u, rel=0.15)
    lens = np.array(network.rig.lens.values())
    assert np.all(np.abs(lens - other.x[:8]) < 0.4 * np.sqrt(np.diag(covariance))[:8])


def test_the_strip_is_the_one_that_is_printed() -> None:
    """The middle used here is that of the printed crossings."""
    crossings = strip_sheet("A4", 1).crossings
    assert crossings.mean(axis=0) == pytest.approx(MIDDLE, abs=0.1)
