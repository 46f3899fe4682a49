"""Mitre and bevel: how a saw is set so that a board ends in a given plane.

The board lies on the saw's table, face up. A blade turned by the mitre M about the table's
normal and tilted by the bevel B about its own line on the table cuts in one plane; its trace
on the face is turned by M from square across the board, and the plane is B off square to the
face. So, with face normal n, direction a along the board towards the cut, w = n x a across it,
and the cut plane's normal p pointing off the piece (all unit vectors):

    trace t = n x p, taken so that t.w > 0;   tan M = t.a / t.w;   sin B = p.n

Two boards mitred with each other are mirror images in the plane of the joint, so its normal
is the difference of their face normals; that is the plane that halves their dihedral angle.

Positive M: the cut reaches further on the side of w (the left, looking along a with the face
up). Positive B: the back is longer than the face. Angles are radians.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_PARALLEL = 1e-9  # rad; nearer than this, two planes are one to the rounding of their normals


class Setting(NamedTuple):
    """mitre, bevel: radians, as above."""

    mitre: float
    bevel: float


def unit(vector: npt.ArrayLike) -> Array:
    """The vector (3,) at length 1."""
    v = np.asarray(vector, dtype=np.float64)
    return v / float(np.linalg.norm(v))


def dihedral(normal: Array, other: Array) -> float:
    """The angle (rad) that two planes enclose on the side to which their normals (3,) point.

    Half a turn less the angle between the normals, from its sine and cosine, so that nearly flat
    and nearly closed corners keep their digits. Unit vectors or not.

    >>> round(float(np.degrees(dihedral(unit([1, 0, 0]), unit([0, 1, 0])))), 6)
    90.0
    """
    return float(np.pi - np.arctan2(np.linalg.norm(np.cross(normal, other)), normal @ other))


def end_in_plane(face: Array, along: Array, plane: Array) -> Setting | None:
    """The setting for a board that ends in a plane. All (3,) unit vectors, `along` in the face.

    Which way the plane's normal points doesn't matter: it is taken to point off the piece.
    None when the plane is parallel to the face, so that no cut makes it.

    A shelf end against a wall that is 3 degrees off square to its front:

    >>> wall = unit([np.cos(np.radians(3)), np.sin(np.radians(3)), 0])
    >>> end_in_plane(unit([0, 0, 1]), unit([1, 0, 0]), wall).mitre.__round__(6)
    -0.05236
    """
    off = plane if plane @ along >= 0.0 else -plane
    trace = np.cross(face, off)
    flat = float(np.linalg.norm(trace))
    if flat < _PARALLEL:
        return None
    mitre = np.arctan2(trace @ along, trace @ np.cross(face, along))
    return Setting(float(mitre), float(np.arctan2(off @ face, flat)))


def joint_plane(face: Array, along: Array, other_face: Array, other_along: Array) -> Array | None:
    """The normal of the plane in which two boards are mirror images, pointing off the first.

    along, other_along: both towards the joint. Boards in one plane (a picture frame) are
    halved between their directions. None when they are one board that goes straight on, or
    when the plane of the joint holds the first board's direction, so that it never ends there.
    """
    difference = face - other_face
    if float(np.linalg.norm(difference)) < _PARALLEL:
        difference = along - other_along
    length = float(np.linalg.norm(difference))
    if length < _PARALLEL:
        return None
    normal = difference / length
    ahead = float(normal @ along)
    return None if abs(ahead) < _PARALLEL else normal * np.sign(ahead)
