"""Mitre and bevel against closed forms, published table values, and the sawn solid itself."""

from __future__ import annotations

from math import acos, atan, atan2, cos, degrees, pi, radians, sin, sqrt, tan

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.compound import dihedral, end_in_plane, joint_plane, unit

Array = npt.NDArray[np.float64]
ANGLE = st.floats(0.02, 1.5)


def mitred(face: Array, along: Array, other_face: Array, other_along: Array) -> tuple[float, float]:
    """Mitre and bevel of the first board, degrees."""
    plane = joint_plane(face, along, other_face, other_along)
    assert plane is not None
    setting = end_in_plane(face, along, plane)
    assert setting is not None
    return degrees(setting.mitre), degrees(setting.bevel)


def tray(sides: int, slope: float) -> tuple[Array, Array, Array, Array]:
    """Two neighbouring sides of a tray with so many sides, each leaning `slope` from level.

    Faces inside and up; each side runs towards the corner between them.
    """
    half = pi / sides
    faces, runs = [], []
    for way in (-1.0, 1.0):  # the corner between them lies in the plane y = 0
        outwards = np.array([cos(half), way * sin(half), 0.0])
        faces.append(cos(slope) * np.array([0, 0, 1.0]) - sin(slope) * outwards)
        runs.append(np.array([sin(half), -way * cos(half), 0.0]))
    return faces[0], runs[0], faces[1], runs[1]


@given(st.integers(3, 24), ANGLE)
def test_a_tray_of_leaning_sides(sides: int, slope: float) -> None:
    # Closed forms of the leaning-sided tray ("hopper"), sides at `slope` from level:
    # tan M = cos slope tan(180/n), sin B = sin slope sin(180/n). Upright sides: M = 0, B = 180/n.
    mitre, bevel = mitred(*tray(sides, slope))
    assert abs(mitre) == pytest.approx(degrees(atan(cos(slope) * tan(pi / sides))), abs=1e-9)
    assert abs(bevel) == pytest.approx(degrees(np.arcsin(sin(slope) * sin(pi / sides))), abs=1e-9)


@given(st.integers(3, 24), ANGLE)
def test_a_mitre_halves_what_the_sides_of_a_tray_enclose(sides: int, slope: float) -> None:
    # Faces of a regular pyramid: cos(dihedral / 2) = sin slope sin(180/n), the closed form; each
    # board of a joint is sawn at what half of that is off square.
    one, run, other, other_run = tray(sides, slope)
    enclosed = degrees(dihedral(one, other))
    closed_form = 2.0 * degrees(acos(sin(slope) * sin(pi / sides)))
    assert enclosed == pytest.approx(closed_form, abs=1e-9)
    _, bevel = mitred(one, run, other, other_run)
    assert abs(bevel) == pytest.approx(90.0 - enclosed / 2.0, abs=1e-9)


@pytest.mark.parametrize(
    ("rise", "printed"),
    # Backing of a hip over a square corner by inches of rise to a foot of run: how far each of its
    # two faces falls off level, degrees (roof framing tables; from memory, printed to 0.01).
    [(6.0, 18.43), (8.0, 23.09), (12.0, 30.00)],
)
def test_backing_of_a_hip(rise: float, printed: float) -> None:
    pitch = atan2(rise, 12.0)
    # Both slopes' normals down, into the roof: the hip lies where they meet at 45 degrees in plan.
    east = -np.array([sin(pitch), 0.0, cos(pitch)])
    north = -np.array([0.0, sin(pitch), cos(pitch)])
    backing = 90.0 - degrees(dihedral(east, north)) / 2.0
    assert backing == pytest.approx(printed, abs=0.005 + 1e-9)


GOLDEN = (1.0 + sqrt(5.0)) / 2.0


@pytest.mark.parametrize(
    ("vertices", "expected"),
    # Dihedral angles of regular solids: arccos(1/3), arccos(-1/3), arccos(-sqrt 5 / 3) (published
    # in every table of polyhedra; from memory).
    [
        ([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)], acos(1 / 3)),
        ([tuple(s * e) for e in np.eye(3) for s in (1, -1)], acos(-1 / 3)),
        (
            [
                np.roll((0.0, a, b * GOLDEN), turn)
                for a in (1, -1)
                for b in (1, -1)
                for turn in range(3)
            ],
            acos(-sqrt(5.0) / 3.0),
        ),
    ],
)
def test_dihedral_angles_of_regular_solids(vertices: list[Array], expected: float) -> None:
    # scipy's hull finds the faces, with normals out of the solid; neighbours share an edge.
    from scipy.spatial import ConvexHull

    hull = ConvexHull(np.array(vertices, dtype=float))
    inwards = -hull.equations[:, :3]
    for face, neighbours in enumerate(hull.neighbors):
        for other in neighbours:
            assert dihedral(inwards[face], inwards[other]) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("spring", "mitre", "bevel"),
    # Cornice cut flat for a square corner, by the angle between its back and the wall: the
    # values printed on compound mitre saws and in their manuals (from memory).
    [(38.0, 31.6, 33.9), (45.0, 35.3, 30.0)],
)
def test_cornice_flat_on_the_table(spring: float, mitre: float, bevel: float) -> None:
    # A cornice that leans `spring` off the wall lies 90 - spring off level.
    found = mitred(*tray(4, radians(90.0 - spring)))
    assert abs(found[0]) == pytest.approx(mitre, abs=0.06)  # printed to 0.1 degrees
    assert abs(found[1]) == pytest.approx(bevel, abs=0.06)


# The table on a carpenter's steel square, by inches of rise to a foot of run: what to take on
# one arm, with 12 on the other, for the side cut of a jack rafter and of a hip or valley rafter
# (published on framing squares for a century; from memory, printed to 1/16 inch).
STEEL_SQUARE = [
    (4.0, 11 + 3 / 8, 11 + 11 / 16),
    (6.0, 10 + 3 / 4, 11 + 5 / 16),
    (8.0, 10.0, 10 + 7 / 8),
    (12.0, 8 + 1 / 2, 9 + 13 / 16),
]


@pytest.mark.parametrize(("rise", "jack", "hip"), STEEL_SQUARE)
def test_side_cuts_of_the_steel_square(rise: float, jack: float, hip: float) -> None:
    # The top of a rafter lies in a plane whose level lines run square to it. It ends in an
    # upright plane that stands at 45 degrees in plan: the hip for a jack, the ridge for a hip.
    # Run along a jack is 12; along a hip 12 sqrt 2, for the same rise.
    for run, printed in ((12.0, jack), (12.0 * sqrt(2.0), hip)):
        pitch = atan2(rise, run)
        up_slope = np.array([cos(pitch), 0.0, sin(pitch)])
        top = np.array([-sin(pitch), 0.0, cos(pitch)])
        setting = end_in_plane(top, up_slope, unit([1.0, 1.0, 0.0]))
        assert setting is not None
        # The mitre counts from square; the square's angle is taken from the rafter's length.
        assert 12.0 / tan(abs(setting.mitre)) == pytest.approx(printed, abs=1 / 32 + 0.01)


def test_a_panel_under_a_sloping_ceiling() -> None:
    # A standing panel square to the slope's fall line gets a bevel alone; one along the fall
    # line a mitre alone; each is the slope.
    slope = radians(35.0)
    ceiling = np.array([sin(slope), 0.0, cos(slope)])
    up = np.array([0.0, 0.0, 1.0])
    across = end_in_plane(np.array([1.0, 0.0, 0.0]), up, ceiling)
    along = end_in_plane(np.array([0.0, 1.0, 0.0]), up, ceiling)
    assert across is not None
    assert along is not None
    assert np.degrees(across) == pytest.approx([0.0, 35.0])
    assert np.degrees(np.abs(along)) == pytest.approx([35.0, 0.0])


@given(ANGLE, st.floats(-1.4, 1.4), ANGLE, st.floats(0.0, 6.0))
def test_the_sawn_board_ends_in_the_plane(
    lean: float, turn: float, tip: float, spin: float
) -> None:
    # Independent of the formulae: turn a vertical blade by M about the face's normal and tilt
    # it by B about its own line, as a saw does; its plane must be the one asked for.
    face = unit([sin(lean) * cos(turn), sin(lean) * sin(turn), cos(lean)])
    some = unit(np.cross(face, [0.3, -0.7, 0.2]))
    along = cos(spin) * some + sin(spin) * np.cross(face, some)
    plane = unit([cos(tip), sin(tip) * cos(spin), sin(tip) * sin(spin)])
    setting = end_in_plane(face, along, plane)
    if setting is None:
        return
    # Reaching further on the left means: turned to the right, seen from above.
    blade = turned(along, face, -setting.mitre)  # the normal of the upright blade
    line = turned(np.cross(face, along), face, -setting.mitre)
    tilted = turned(blade, line, -setting.bevel)
    assert np.abs(tilted @ plane) == pytest.approx(1.0, abs=1e-9)
    assert tilted @ along >= -1e-12


@given(ANGLE, ANGLE, st.floats(0.0, 6.0), st.floats(0.0, 6.0))
def test_both_boards_of_a_joint_are_cut_alike(a: float, b: float, c: float, d: float) -> None:
    # Mirror images: equal bevels, and mitres that differ in sense alone.
    face = unit([sin(a) * cos(c), sin(a) * sin(c), cos(a)])
    some = unit(np.cross(face, [0.3, -0.7, 0.2]))
    along = cos(d) * some + sin(d) * np.cross(face, some)
    mirror = unit([sin(b) * cos(c + d), cos(b), sin(b) * sin(c + d)])
    other_face = face - 2 * (face @ mirror) * mirror
    other_along = along - 2 * (along @ mirror) * mirror
    if abs(face @ mirror) < 0.01 or abs(along @ mirror) < 0.01:
        return
    first = mitred(face, along, other_face, other_along)
    second = mitred(other_face, other_along, face, along)
    assert first[0] == pytest.approx(-second[0], abs=1e-6)
    assert first[1] == pytest.approx(second[1], abs=1e-6)


def turned(vector: Array, axis: Array, angle: float) -> Array:
    """Rodrigues' rotation."""
    return np.asarray(
        vector * cos(angle)
        + np.cross(axis, vector) * sin(angle)
        + axis * (axis @ vector) * (1.0 - cos(angle))
    )


def test_a_board_that_never_ends_there_has_no_setting() -> None:
    up, ahead = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    assert end_in_plane(up, ahead, up) is None
    assert joint_plane(up, ahead, up, ahead) is None
    assert joint_plane(up, ahead, -up, ahead) is None
