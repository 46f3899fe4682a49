"""The edges of a blank: where each runs, which way it faces, and the visible edge opposite.

Piece frame: mm, x along the blank's length, y up its width, seen from the face. A
rectangle has four edges; of another polygon, an edge is the run of sides that face more
that way than any other. Stations run along the straight line between an edge's two ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.facing import Side
from scribe.job import OPPOSITE, Edge

Array = npt.NDArray[np.float64]

OUTWARD: dict[Edge, Array] = {
    "top": np.array([0.0, 1.0]),
    "bottom": np.array([0.0, -1.0]),
    "left": np.array([-1.0, 0.0]),
    "right": np.array([1.0, 0.0]),
}
_FACINGS: tuple[Edge, ...] = ("top", "bottom", "left", "right")  # a side at 45 degrees is top


@dataclass(frozen=True)
class BlankEdge:
    """One edge of a blank with its stations.

    edge: which one. start: the end at which stations begin.
    chain: (K, 2) its corners in the order of stations.
    along, out: (2,) unit vectors: stations grow, and out of the blank towards the building.
    visible_point, visible_along: a point of the visible edge (opposite), and its direction
        in the sense of stations; the datum is kept parallel to it.
    """

    edge: Edge
    start: Edge
    chain: Array
    along: Array
    out: Array
    visible_point: Array
    visible_along: Array

    @property
    def visible_out(self) -> Array:
        """(2,) unit vector square to the visible edge, towards the building."""
        square = np.array([-self.visible_along[1], self.visible_along[0]])
        return square if square @ self.out > 0 else -square

    @property
    def far(self) -> Edge:
        """The end at which stations end."""
        return end_of(-self.along)

    @property
    def ends(self) -> tuple[Edge, Edge]:
        """Where stations begin, and where they end."""
        return self.start, self.far

    @property
    def solid(self) -> Side:
        """The side of travel, as stations grow, on which the building lies."""
        cross = self.along[0] * self.out[1] - self.along[1] * self.out[0]
        return "left" if cross > 0 else "right"

    def station(self, points: Array) -> Array:
        """(...) mm along the edge from the named end, of (..., 2) points."""
        return np.asarray((points - self.chain[0]) @ self.along)

    def outwards(self, points: Array) -> Array:
        """(...) mm out of the line between the edge's two ends, of (..., 2) points."""
        return np.asarray((points - self.chain[0]) @ self.out)


def blank_edge(ring: Array, edge: Edge, solid: Side) -> BlankEdge:
    """The edge of a blank, its stations running so that the building is on their `solid` side.

    ring: (N, 2) corners of the blank, counter-clockwise, not closed.
    solid: as the outline has it while its stations grow. Turning the outline (never
        mirroring it) leaves one sense in which it fits the edge.
    """
    chain = _chain(ring, edge)
    if chain is None:
        raise ScribeError(
            "blank-edge",
            what=f"the blank has no {edge} edge: none of its sides faces that way",
            where="blank",
            do="name another edge, or correct the corners in shape",
        )
    if solid == "left":
        chain = chain[::-1]  # counter-clockwise round the blank, the building is on the right
    along = _unit(chain[-1] - chain[0])
    out = np.array([-along[1], along[0]]) * (1.0 if solid == "left" else -1.0)
    visible = _chain(ring, OPPOSITE[edge])
    if visible is None:
        lowest = ring[np.argmin(ring @ out)]
        visible_point, visible_along = lowest, along
    else:
        visible_point, visible_along = visible[0], _unit(visible[-1] - visible[0])
        visible_along = visible_along if visible_along @ along > 0 else -visible_along
    return BlankEdge(edge, end_of(along), chain, along, out, visible_point, visible_along)


def _chain(ring: Array, edge: Edge) -> Array | None:
    """The longest run of sides facing `edge`, in the ring's own sense; None when none does."""
    sides = np.roll(ring, -1, axis=0) - ring
    outward = np.column_stack([sides[:, 1], -sides[:, 0]])
    facing = np.argmax([outward @ OUTWARD[name] for name in _FACINGS], axis=0)
    wanted = facing == _FACINGS.index(edge)
    if not wanted.any() or wanted.all():
        return None
    runs: list[Array] = []
    for first in np.flatnonzero(wanted & ~np.roll(wanted, 1)):
        size = int(np.argmin(np.roll(wanted, -first)))
        runs.append(ring[(first + np.arange(size + 1)) % len(ring)])
    return max(runs, key=lambda run: float(np.hypot(*(run[-1] - run[0]))))


def end_of(along: Array) -> Edge:
    """The name of the end from which a direction leads away."""
    return max(_FACINGS, key=lambda name: float(OUTWARD[name] @ -along))


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.hypot(*vector))
