"""From what a tracer found to an Outline with its uncertainty budget.

Each entry is the standard uncertainty across the outline, mm (JCGM 100, 5.1.2):

- "localisation": where the line or edge lies in the photo, as fitted.
- "pins": a gauge's tips, their play, and what lies between two pins. "line width": how the two
  sides of a drawn line wander. "grain": how the board pulls it, beyond what the fit knows of.
- "pose": where the camera was. "lens": what its lens does. From the covariance of the solution.
- "paper": what neighbouring marks miss together: a sheet that is not quite flat.
- "bend": a sheet that is seen to be bent carries what lies on it higher or tilted.
- "tone": how far this photo moves the edges of the target's own squares.
- "print scale": the page is larger or smaller than it says, along x and along y.
- "height": the plane of the outline is higher or lower than stated.

All but the first two rows and the paper move the points together; how, goes with the outline as
its common errors. u is that of a point's place in the sheet frame: a scale that nobody
checked moves what lies far from the sheet's corner by much. The shape alone is known better,
see `Outline.shape_alone`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.photo_view import PhotoView
from scribe.capture.view import Trace
from scribe.outline import Outline

Array = npt.NDArray[np.float64]

_LEAST_MM = 1e-4  # a cause that moves nothing by more than this is left out


@dataclass(frozen=True)
class Doubts:
    """What the fit can't know.

    scale: relative standard uncertainty of the print along x and y. height: mm, of the
    plane. tone: mm, of an edge between dark and light; 0 for a line, whose two edges move
    against each other.
    """

    scale: tuple[float, float]
    height: float
    tone: float


def outline_of(trace: Trace, view: PhotoView, doubts: Doubts, origin: str) -> Outline:
    """The outline in the sheet frame; the building to the left of travel, as tracers find it."""
    camera, points = view.oriented.camera, trace.points
    moves = camera.plane_sensitivity(points, view.height)
    lift = camera.height_sensitivity(points, view.height)
    x, y = doubts.scale
    shared = {
        "pose": _modes(moves, camera.pose_given_lens()),
        "lens": _modes(moves, camera.lens_with_pose()),
        "tone": doubts.tone * trace.normals[None],
        "print scale": np.stack([points * [x, 0.0], points * [0.0, y]]),
        "height": np.hypot(doubts.height, trace.sunk_u) * lift[None],
        "bend": _bent(points, lift, view.oriented.bend_mm),
    }
    budget = {
        "localisation": trace.localisation,
        **trace.parts,
        "paper": np.full(len(points), view.oriented.smooth_mm),
    } | {name: _across(modes, trace.normals) for name, modes in shared.items()}
    return Outline(
        points=points,
        u=np.sqrt(sum(part**2 for part in budget.values())),
        solid="left",
        origin=origin,
        measured=trace.measured,
        budget=budget,
        shared=shared,
    )


def _bent(points: Array, lift: Array, bend: float) -> Array:
    """(3, N, 2) a sheet bent by so many mm: what lies on it is higher, or tilted, by a part.

    Half of the bend for each of height and two tilts: nobody sees what it does below the thing.
    """
    away = (points - points.mean(axis=0)) / np.maximum(np.ptp(points, axis=0), 1.0)
    causes = np.stack([np.ones(len(points)), 2.0 * away[:, 0], 2.0 * away[:, 1]])
    return np.asarray(bend / 2.0 * causes[:, :, None] * lift[None])


def _modes(moves: Array, root: Array) -> Array:
    """(K, N, 2) how the points move for one standard uncertainty of each cause that matters.

    moves: (N, 2, P) mm for a unit of each parameter. root: (P, P) a square root of their
    covariance. Turned to principal causes (singular values), so that few are left.
    """
    raw = (moves @ root).transpose(2, 0, 1)
    flat = raw.reshape(len(raw), -1)
    _, strength, along = np.linalg.svd(flat, full_matrices=False)
    modes = (strength[:, None] * along).reshape(-1, *raw.shape[1:])
    return np.asarray(modes[np.abs(modes).max(axis=(1, 2)) > _LEAST_MM])


def _across(modes: Array, normals: Array) -> Array:
    return np.asarray(np.sqrt((np.einsum("knd,nd->kn", modes, normals) ** 2).sum(axis=0)))
