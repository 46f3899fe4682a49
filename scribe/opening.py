"""Opening: the solved opening of a room: two walls, floor, ceiling and back, and how sure each is.

Opening frame: mm; x level along the opening from the left wall, y plumb up, z level from the
front plane to the back, so away from whoever stands before it (docs/conventions.md). The origin
is where left wall and floor meet in the front plane, the plumb plane through a line held across
the front.

Every surface is ruled between a front line and a back line, so walls may lean, splay and twist;
a side wall may bow over its height, and the ceiling may break along the width or the depth.
`scribe.fit` makes it from readings; what it cannot hold is a wall that bows along its depth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Corners = tuple[float, float, float, float]
Node = tuple[float, float, float]
Along = Literal["width", "depth"]
ALONG: tuple[Along, ...] = get_args(Along)
Side = Literal["left", "right"]
Plane = Literal["front", "back"]

_SETTLED = 12  # turns after which wall, ceiling and back have met to a nanometre


@dataclass(frozen=True)
class Size:
    """A length in mm and its standard uncertainty; U is expanded with k = 2 (JCGM 100, 6.2)."""

    value: float
    u: float

    @property
    def U(self) -> float:
        """Expanded uncertainty, mm."""
        return 2.0 * self.u


@dataclass(frozen=True)
class Opening:
    """The opening as solved. All lengths mm in the opening frame.

    name: of the room. reference: (width, height, depth), the fixed sizes at which the corner
        values below stand; near the true ones, and without uncertainty.
    left, right: x of the wall at (bottom front, top front, bottom back, top back), bottom and
        top being y = 0 and y = reference height.
    left_bow, right_bow: how far the wall stands to the right of the straight line from bottom
        to top, at half the reference height; a parabola over the height.
    floor: y at (left front, right front, left back, right back), left and right being x = 0
        and x = reference width.
    back: z at (left bottom, right bottom, left top, right top).
    along: the direction in which the ceiling's profile runs.
    ceiling: two or more nodes (position, near, far) in order of position: position along the
        profile (x or z), y of the ceiling there at its near and far side. Near and far are
        front and back when the profile runs along the width, left and right otherwise.
    covariance: (P, P) mm^2 of all values in the order of `vector`; fixed values have rows of 0.
    unevenness: mm, standard uncertainty of a wall's face about these smooth surfaces, as met
        by one spot of a tape; it is not part of the covariance.
    """

    name: str
    reference: tuple[float, float, float]
    left: Corners
    right: Corners
    floor: Corners
    back: Corners
    ceiling: tuple[Node, ...]
    covariance: Array
    along: Along = "width"
    left_bow: float = 0.0
    right_bow: float = 0.0
    unevenness: float = 0.0

    def __post_init__(self) -> None:
        covariance = np.array(self.covariance, dtype=np.float64)
        covariance.flags.writeable = False
        object.__setattr__(self, "covariance", covariance)
        vector = self.vector
        if not (np.isfinite(vector).all() and min(self.reference) > 0.0):
            raise self._invalid("a size that is not a number above 0 (reference)")
        if len(self.ceiling) < 2 or any(b[0] <= a[0] for a, b in pairwise(self.ceiling)):
            raise self._invalid("ceiling nodes that are not in order (ceiling)")
        if covariance.shape != (len(vector), len(vector)) or not np.isfinite(covariance).all():
            raise self._invalid(f"a covariance that is not {len(vector)} square (covariance)")
        if self.along not in ALONG or self.unevenness < 0.0:
            raise self._invalid("a field that makes no sense (along, unevenness)")

    def _invalid(self, what: str) -> ScribeError:
        return ScribeError(
            "opening-invalid",
            what=f"the opening has {what}",
            where=self.name or "opening",
            do="check the readings it was solved from",
        )

    @property
    def vector(self) -> Array:
        """(P,) every value: left, left_bow, right, right_bow, floor, back, ceiling nodes."""
        nodes = [value for node in self.ceiling for value in node]
        return np.array(
            [
                *self.left,
                self.left_bow,
                *self.right,
                self.right_bow,
                *self.floor,
                *self.back,
                *nodes,
            ],
            dtype=np.float64,
        )

    def with_vector(self, vector: Sequence[float] | Array) -> Opening:
        """The same opening with other values, in the order of `vector`; nothing is checked."""
        v = [float(value) for value in vector]
        other = object.__new__(Opening)
        fields = dict(self.__dict__)
        fields |= {"left": tuple(v[0:4]), "left_bow": v[4], "right": tuple(v[5:9])}
        fields |= {"right_bow": v[9], "floor": tuple(v[10:14]), "back": tuple(v[14:18])}
        fields["ceiling"] = tuple((v[k], v[k + 1], v[k + 2]) for k in range(18, len(v), 3))
        other.__dict__.update(fields)
        return other

    def with_covariance(self, covariance: Array) -> Opening:
        """The same opening with another covariance."""
        return replace(self, covariance=covariance)

    # Surfaces. All take and give frame coordinates, not heights above the floor.

    def wall_x(self, side: Side, y: float, z: float) -> float:
        """x of the left or right wall at level y and depth z."""
        corners, bow = (
            (self.left, self.left_bow) if side == "left" else (self.right, self.right_bow)
        )
        up = y / self.reference[1]
        return _ruled(corners, up, z / self.reference[2]) + 4.0 * bow * up * (1.0 - up)

    def floor_y(self, x: float, z: float) -> float:
        """y of the floor at x and depth z."""
        return _ruled(self.floor, x / self.reference[0], z / self.reference[2])

    def ceiling_y(self, x: float, z: float) -> float:
        """y of the ceiling at x and depth z; beyond its last nodes it runs on straight."""
        width, _, depth = self.reference
        s, across = (x, z / depth) if self.along == "width" else (z, x / width)
        for (p0, near0, far0), (p1, near1, far1) in pairwise(self.ceiling):
            if s <= p1 or p1 == self.ceiling[-1][0]:
                part = (s - p0) / (p1 - p0)
                return _ruled((near0, near1, far0, far1), part, across)
        raise AssertionError("a ceiling has two nodes or more")

    def back_z(self, x: float, y: float) -> float:
        """z of the back wall at x and level y."""
        return _ruled(self.back, x / self.reference[0], y / self.reference[1])

    # What a fitter asks of them.

    def depth_of(self, plane: Plane, x: float, y: float) -> float:
        """z of the front plane (0) or of the back wall at x and level y."""
        return 0.0 if plane == "front" else self.back_z(x, y)

    def corner(self, plane: Plane, end: Literal["bottom", "top"], side: Side) -> Array:
        """(3,) where a side wall meets floor or ceiling, in the front plane or at the back."""
        x, y, z = 0.0 if side == "left" else self.reference[0], 0.0, 0.0
        for _ in range(_SETTLED):
            y = self.floor_y(x, z) if end == "bottom" else self.ceiling_y(x, z)
            x = self.wall_x(side, y, z)
            z = self.depth_of(plane, x, y)
        return np.array([x, y, z])

    def section(self, z: float, *, steps: int = 8) -> Array:
        """(N, 2) the opening cut at depth z, as (x, y), counter-clockwise from bottom left.

        steps: into how many straight parts a bowed wall is cut.
        """
        corners: dict[tuple[str, Side], tuple[float, float]] = {}
        for side in ("left", "right"):
            for end in ("bottom", "top"):
                x, y = 0.0 if side == "left" else self.reference[0], 0.0
                for _ in range(_SETTLED):
                    y = self.floor_y(x, z) if end == "bottom" else self.ceiling_y(x, z)
                    x = self.wall_x(side, y, z)
                corners[end, side] = (x, y)
        points = [corners["bottom", "left"], *self._up_wall("right", z, corners, steps)]
        left, right = corners["top", "left"][0], corners["top", "right"][0]
        if self.along == "width":
            breaks = [p for p, _, _ in self.ceiling[1:-1] if left < p < right]
            points += [(p, self.ceiling_y(p, z)) for p in reversed(breaks)]
        return np.array([*points, *self._up_wall("left", z, corners, steps)[:0:-1]])

    def _up_wall(
        self,
        side: Side,
        z: float,
        corners: dict[tuple[str, Side], tuple[float, float]],
        steps: int,
    ) -> list[tuple[float, float]]:
        low, high = corners["bottom", side][1], corners["top", side][1]
        bow = self.left_bow if side == "left" else self.right_bow
        levels = np.linspace(low, high, steps + 1 if bow else 2)
        return [(self.wall_x(side, float(y), z), float(y)) for y in levels]

    def width(self, y: float, z: float) -> Size:
        """Level width between the side walls at level y and depth z."""
        return self.size(lambda room: room.wall_x("right", y, z) - room.wall_x("left", y, z))

    def height(self, x: float, z: float) -> Size:
        """Plumb height from floor to ceiling at x and depth z."""
        return self.size(lambda room: room.ceiling_y(x, z) - room.floor_y(x, z))

    def depth(self, x: float, y: float) -> Size:
        """Level depth from the front plane to the back wall at x and level y."""
        return self.size(lambda room: room.back_z(x, y))

    # Uncertainty of whatever the opening determines.

    def modes(self) -> Array:
        """(K, P) independent ways in which the values move together, one standard uncertainty each.

        The eigenvectors of the covariance, scaled; their outer products add up to it.
        """
        size, direction = np.linalg.eigh(self.covariance)
        keep = size > 1e-12 * max(float(size[-1]), 1e-12)
        return np.asarray((direction[:, keep] * np.sqrt(size[keep])).T, dtype=np.float64)

    def propagate(self, function: Callable[[Opening], Sequence[float]]) -> tuple[Array, Array]:
        """Values (K,) of a function of the opening and their covariance (K, K).

        Each mode is moved by one standard uncertainty either way (JCGM 100, 5.1.2 and 5.2.2,
        with differences for the sensitivities), so that the function need not be smooth.
        """
        value = np.array(function(self), dtype=np.float64)
        vector = self.vector
        change = np.zeros((0, len(value)))
        for mode in self.modes():
            up, down = (function(self.with_vector(vector + s * mode)) for s in (1.0, -1.0))
            change = np.vstack([change, (np.array(up) - np.array(down)) / 2.0])
        return value, change.T @ change

    def size(self, function: Callable[[Opening], float]) -> Size:
        """One length that the opening determines, with its standard uncertainty."""
        value, covariance = self.propagate(lambda room: [function(room)])
        return Size(float(value[0]), float(np.sqrt(covariance[0, 0])))

    @classmethod
    def square(
        cls, width: float, height: float, depth: float, *, u: float = 0.5, name: str = "square room"
    ) -> Opening:
        """A plain box: walls plumb and straight; every corner value known to u, independently.

        >>> Opening.square(1200, 2400, 350).width(1000, 0).value
        1200.0
        """
        opening = cls(
            name,
            (width, height, depth),
            (0.0,) * 4,
            (width,) * 4,
            (0.0,) * 4,
            (depth,) * 4,
            ((0.0, height, height), (width, height, height)),
            np.zeros((24, 24)),
        )
        known = np.full(24, u**2)
        known[[0, 4, 9, 10, 18, 21]] = 0.0  # the origin, the bows, and where the profile ends
        return opening.with_covariance(np.diag(known))


def _ruled(corners: Corners, s: float, t: float) -> float:
    """Between the line of the first two values (t = 0) and that of the last two (t = 1)."""
    a, b, c, d = corners
    near, far = a + (b - a) * s, c + (d - c) * s
    return near + (far - near) * t
