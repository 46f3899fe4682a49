"""Where to begin: each photo by itself, then photo by photo along the sheets they share.

A photo alone gives the places of its sheets on the board, each as a printed figure in the
plane of the others. Photos are joined in the order of the marks they share with what is
already in place (a maximum spanning tree, Prim's order), flat and without a look back: the
solution of all together follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera, lifted
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.run.network_known import Knowledge, ScalePrior, shared_prior, system_of
from scribe.capture.run.network_model import Observations, Rig
from scribe.capture.run.photo_marks import PhotoMarks, SheetMarks
from scribe.geom.sparse_solve import SparseSolution, sparse_least_squares

Array = npt.NDArray[np.float64]

_START_U_PX = 1.0  # marks are believed this much only, while everything is still rough


@dataclass(frozen=True)
class Alone:
    """A photo solved by itself in its largest sheet's frame. focal_u: relative, of its lens."""

    photo: PhotoMarks
    rig: Rig
    focal_u: float


def alone_of(
    photos: Sequence[PhotoMarks], scale: ScalePrior, before: Sequence[Alone] = ()
) -> list[Alone]:
    """Every photo by itself; those of `before` aren't solved again."""
    known = {id(each.photo): each for each in before}
    return [known.get(id(photo)) or _alone(photo, scale) for photo in photos]


def start_of(seen: Observations, scale: ScalePrior, before: Sequence[Alone] = ()) -> Rig:
    """A first state of everything; before: photos that were solved by themselves already."""
    alone = alone_of(seen.photos, scale, before)
    rig = _chained(seen, [each.rig for each in alone], scale)
    return replace(rig, lens=min(alone, key=lambda each: each.focal_u).rig.lens)


def neighbours(seen: Observations, rig: Rig) -> tuple[tuple[int, int], ...]:
    """Pairs of sheets that a photo shows side by side: each with the two nearest to it."""
    middle = middles(seen, rig)
    pairs: set[tuple[int, int]] = set()
    for p in range(len(seen.photos)):
        together = seen.sheet[seen.photo == p]
        for s in together:
            away = np.linalg.norm(middle[together] - middle[s], axis=1)
            nearest = together[np.argsort(away, kind="stable")[1:3]]
            pairs |= {(min(int(s), int(t)), max(int(s), int(t))) for t in nearest}
    return tuple(sorted(pairs))


def middles(seen: Observations, rig: Rig) -> Array:
    """(S, 3) mm the middle of each sheet's marks in the frame of the run."""
    place, _ = seen.in_run(rig)
    sheet = seen.sheet[seen.group]
    return np.array([place[sheet == s].mean(axis=0) for s in range(len(seen.numbers))])


def _alone(photo: PhotoMarks, scale: ScalePrior) -> Alone:
    """Of the two poses that a plane allows the one with the smaller misfit is taken."""
    largest = max(photo.seen, key=lambda marks: len(marks.points))
    seen = Observations.of([photo], largest.sheet)
    sd = np.full(len(seen.points), _START_U_PX)
    best: SparseSolution[Rig] | None = None
    for camera in _poses(largest, photo.prior, scale):
        rig = _laid_out(seen, camera, scale)
        known = Knowledge(shared_prior(photo), scale, (), neighbours(seen, rig))
        found = fitted(seen, known, sd, rig, iterations=3, tolerance=1e-3)
        if best is None or _misfit(found) < _misfit(best):
            best = found
    assert best is not None
    best = fitted(seen, known, sd, best.state, iterations=12, tolerance=1e-3)
    focal = np.eye(1, seen.size)
    u = float(best.factor.covariance_of(focal)[0, 0]) ** 0.5
    return Alone(photo, best.state, u / best.state.lens.f)


def _misfit(found: SparseSolution[Rig]) -> float:
    return float((found.weights * (found.residuals**2).sum(axis=1)).sum())


def fitted(
    seen: Observations, known: Knowledge, sd: Array, rig: Rig, *, iterations: int, tolerance: float
) -> SparseSolution[Rig]:
    """The state of least cost near `rig`; sd: (M,) px of each mark's coordinates."""
    return sparse_least_squares(
        lambda state: system_of(seen, known, sd, state),
        seen.moved,
        rig,
        iterations=iterations,
        tolerance=tolerance,
    )


def _poses(marks: SheetMarks, prior: LensPrior, scale: ScalePrior) -> list[Camera]:
    """The cameras that one sheet allows."""
    lens = prior.mean
    flat = marks.points * scale.mean
    middle = flat.mean(axis=0)
    rays = lens.directions(marks.pixels)
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        lifted(flat - middle, 0.0), rays, np.eye(3), None, flags=cv2.SOLVEPNP_IPPE
    )
    cameras = []
    for turn, shift in zip(turns, shifts, strict=True):
        rotation = np.asarray(cv2.Rodrigues(turn)[0], dtype=np.float64)
        translation = shift.ravel() - rotation[:, :2] @ middle
        cameras.append(Camera(lens, rotation, translation, np.zeros((14, 14))))
    front = [camera for camera in cameras if camera.rotation[2, 2] < 0.0]
    return front or cameras


def _laid_out(seen: Observations, camera: Camera, scale: ScalePrior) -> Rig:
    """All sheets of one photo where their marks meet the plane of the first."""
    count = len(seen.numbers)
    turns, centres = np.tile(np.eye(3), (count, 1, 1)), np.zeros((count, 3))
    on_board = camera.on_plane(seen.pixels, 0.0)
    sheet = seen.sheet[seen.group]
    for s in range(1, count):
        here = sheet == s
        turn, shift = flat_fit(seen.points[here] * scale.mean, on_board[here])
        turns[s, :2, :2], centres[s, :2] = turn, shift
    return Rig(
        shared_prior(seen.photos[0]).mean,
        np.zeros((1, 2)),
        scale.mean,
        camera.rotation[None],
        camera.translation[None],
        turns,
        centres,
    )


def flat_fit(points: Array, places: Array) -> tuple[Array, Array]:
    """Turn (2, 2) and shift (2,) with places = turn points + shift (least squares)."""
    middle, there = points.mean(axis=0), places.mean(axis=0)
    a, b = points - middle, places - there
    angle = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return turn, there - turn @ middle


def _chained(seen: Observations, alone: Sequence[Rig], scale: ScalePrior) -> Rig:
    """Photo after photo laid onto the sheets that are in place."""
    photos, count = len(seen.photos), len(seen.numbers)
    turns, shifts = np.zeros((photos, 3, 3)), np.zeros((photos, 3))
    sheet_turns, centres = np.tile(np.eye(3), (count, 1, 1)), np.zeros((count, 3))
    placed = {seen.numbers[0]}
    left = set(range(photos))
    while left:
        p = max(left, key=lambda q: (_shared(seen.photos[q], placed), -q))
        left.remove(p)
        photo, rig = seen.photos[p], alone[p]
        own = Observations.of([photo], max(photo.seen, key=lambda marks: len(marks.points)).sheet)
        local, _ = own.in_run(rig)
        sheet = np.array(own.numbers)[own.sheet[own.group]]
        known = np.isin(sheet, list(placed))
        order = np.array([seen.numbers.index(int(number)) for number in sheet])
        printed = (own.points + own.pivots[own.sheet[own.group]] - seen.pivots[order]) * scale.mean
        flat = np.column_stack([printed, np.zeros(len(printed))])
        there = np.einsum("nij,nj->ni", sheet_turns[order], flat) + centres[order]
        turn, shift = flat_fit(local[known, :2], there[known, :2])
        for number in set(photo.sheets) - placed:
            s, here = seen.numbers.index(number), sheet == number
            sheet_turns[s, :2, :2], centres[s, :2] = flat_fit(
                printed[here], local[here, :2] @ turn.T + shift
            )
        placed |= set(photo.sheets)
        whole, away = np.eye(3), np.array([*shift, 0.0])
        whole[:2, :2] = turn
        turns[p] = rig.turns[0] @ whole.T
        shifts[p] = rig.shifts[0] - turns[p] @ away
    shifted = np.zeros((photos, 2))
    return Rig(alone[0].lens, shifted, scale.mean, turns, shifts, sheet_turns, centres)


def _shared(photo: PhotoMarks, placed: set[int]) -> int:
    return sum(len(marks.points) for marks in photo.seen if marks.sheet in placed)
