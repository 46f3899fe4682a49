"""Strand: the points of an outline with their errors, as bare arrays that can be cut and joined.

All strands of one join count the same causes of common errors, so that `shared` adds up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.datum import Datum
from scribe.facing import Side
from scribe.geom.polyline import point_at, stations
from scribe.outline import Outline, across

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STRAIGHT_MM = 30.0  # of an end, that gives its direction when it is carried on
# What a wall does where it is carried on: mm for each mm (u; common practice, no source).
_UNSEEN = 2e-3


@dataclass(frozen=True)
class Strand:
    """points (N, 2), measured (N,); own: name -> (N,) u; shared: name -> (K, N, 2) modes, mm."""

    points: Array
    measured: Mask
    own: dict[str, Array]
    shared: dict[str, Array]

    @property
    def own_u(self) -> Array:
        """(N,) mm, of what is independent from point to point."""
        parts = [part**2 for part in self.own.values()]
        return np.asarray(np.sqrt(sum(parts, np.zeros(len(self.points)))))

    def part(self, which: Mask) -> Strand:
        """Its points where `which` (N,) says so."""
        return Strand(
            self.points[which],
            self.measured[which],
            {name: part[which] for name, part in self.own.items()},
            {name: modes[:, which] for name, modes in self.shared.items()},
        )

    def at(self, station: Array) -> Strand:
        """Places (M,) mm along it."""
        s = stations(self.points)
        return Strand(
            point_at(self.points, station),
            np.interp(station, s, self.measured.astype(float)) > 0.99,
            {name: np.interp(station, s, part) for name, part in self.own.items()},
            {name: _along(modes, s, station) for name, modes in self.shared.items()},
        )

    def reversed(self) -> Strand:
        """Travelled the other way."""
        return Strand(
            self.points[::-1],
            self.measured[::-1],
            {name: part[::-1] for name, part in self.own.items()},
            {name: modes[:, ::-1] for name, modes in self.shared.items()},
        )

    def carried_on(self, by: float) -> Strand:
        """With one more point straight on beyond its end, which nobody measured."""
        s = stations(self.points)
        k = min(int(np.searchsorted(s, max(s[-1] - _STRAIGHT_MM, 0.0))), len(s) - 2)
        along = self.points[-1] - self.points[k]
        ratio = by / float(np.hypot(*along))
        own = {
            name: np.append(part, np.hypot((1.0 + ratio) * part[-1], ratio * part[k]))
            for name, part in self.own.items()
        }
        unseen = own.get("carried on", np.zeros(len(s) + 1))
        own["carried on"] = np.append(unseen[:-1], np.hypot(unseen[-1], _UNSEEN * by))
        shared = {
            name: np.concatenate([m, (m[:, -1] + ratio * (m[:, -1] - m[:, k]))[:, None]], axis=1)
            for name, m in self.shared.items()
        }
        points = np.vstack([self.points, self.points[-1] + ratio * along])
        return Strand(points, np.append(self.measured, False), own, shared)

    def outline(self, solid: Side, datum: Datum, origin: str) -> Outline:
        """The outline with the u that follows from its parts."""
        budget = self.own | {name: across(m, self.points) for name, m in self.shared.items()}
        total = np.sqrt(sum((part**2 for part in budget.values()), np.zeros(len(self.points))))
        shared = {name: modes for name, modes in self.shared.items() if len(modes)}
        budget = {
            name: budget[name] for name in sorted(budget) if name in shared or name in self.own
        }
        return Outline(
            self.points, total, solid, datum, origin, self.measured, budget, shared
        )  # fmt: skip


def strands_of(pieces: Sequence[Outline], causes: int) -> list[Strand]:
    """The outlines with one list of causes: those of each, and `causes` more named "joint"."""
    known = [it if it.budget else it.with_(budget={"stated": it.u}) for it in pieces]
    common = sorted({name for it in known for name in it.shared})
    count = {name: [len(it.shared.get(name, ())) for it in known] for name in common}
    strands = []
    for number, it in enumerate(known):
        shared = {}
        for name in common:
            first = sum(count[name][:number])
            shared[name] = np.zeros((sum(count[name]), len(it), 2))
            shared[name][first : first + count[name][number]] = it.shared.get(name, 0.0)
        shared["joint"] = np.zeros((causes, len(it), 2))
        own = {
            f"{name}, alone" if name in common else name: part.copy()
            for name, part in it.budget.items()
            if name not in it.shared
        }
        strands.append(Strand(it.points, it.measured, own, shared))
    return strands


def chained(parts: Sequence[Strand]) -> Strand:
    """One after the other; a point that repeats the one before is left out."""
    kept = [part for part in parts if len(part.points)]
    points = np.vstack([part.points for part in kept])
    names = sorted({name for part in kept for name in part.own})
    whole = Strand(
        points,
        np.concatenate([part.measured for part in kept]),
        {
            name: np.concatenate(
                [part.own.get(name, np.zeros(len(part.points))) for part in kept]
            )
            for name in names
        },
        {
            name: np.concatenate([part.shared[name] for part in kept], axis=1)
            for name in kept[0].shared
        },
    )  # fmt: skip
    apart = np.hypot(*np.diff(points, axis=0).T)
    return whole.part(np.concatenate([[True], apart > 1e-6]))


def _along(modes: Array, s: Array, station: Array) -> Array:
    """(K, M, 2) modes given at s (N,), at other stations."""
    found = np.zeros((len(modes), len(station), 2))
    for number, mode in enumerate(modes):
        for axis in (0, 1):
            found[number, :, axis] = np.interp(station, s, mode[:, axis])
    return found
