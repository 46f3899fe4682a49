"""Outline: the measured shape of a wall, ceiling, floor, skirting or cut edge.

It is the one noun that flows through the package. Everything that captures makes one,
everything that shapes takes one and returns a new one, everything that fits takes them
as the room. Millimetres, y up, right-handed; nothing here knows of pixels or paper.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.datum import SHEET_AXIS, Datum, frozen
from scribe.errors import ScribeError
from scribe.facing import CLOSED_MM, Side
from scribe.geom.frames import Rigid
from scribe.geom.polyline import normals, spans, stations
from scribe.quantity import LONGEST_MM

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


def _fault(points: Array) -> str:
    """What is wrong with the points of an outline; nothing when all is well."""
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2:
        return "fewer than two points"
    if not np.isfinite(points).all():
        return "a coordinate that is not a number"
    if float(np.ptp(points, axis=0).max()) > LONGEST_MM:
        return "a size that no room has"
    if (np.hypot(*np.diff(points, axis=0).T) == 0.0).any():
        return "the same point twice in a row"
    return ""


@dataclass(frozen=True)
class Outline:
    """An ordered polyline with an uncertainty at every point.

    points: (N, 2) mm, N >= 2, finite, in one room, no two neighbours equal.
    u: (N,) mm, standard uncertainty across the outline, >= 0.
    solid: the side of travel on which the building lies ("left" when stations grow
        to the right and the building is above).
    datum: the line its stations are counted along.
    origin: where it came from, one line for people ("photo wall.jpg, gauge, height 6 mm").
    measured: (N,) bool, False where the point bridges a stretch nobody measured
        (a gap in the pencil line, a hollow the pins could not reach). Left out, every
        point was measured.
    budget: what u is made of: name -> (N,) mm standard uncertainty. The squares of all
        entries add up to u squared. Empty when only the total is known.
    shared: the entries of the budget that points have in common: name -> (K, N, 2) mm, how
        the points move together for one standard uncertainty of each of K independent
        causes. What isn't in it is taken as independent from point to point.
    """

    points: Array
    u: Array
    solid: Side
    datum: Datum = SHEET_AXIS
    origin: str = ""
    measured: Mask = field(default_factory=lambda: np.ones(0, bool))
    budget: Mapping[str, Array] = field(default_factory=dict)
    shared: Mapping[str, Array] = field(default_factory=dict)

    def __post_init__(self) -> None:
        points, u = frozen(self.points), frozen(self.u)
        fault = _fault(points)
        if fault:
            raise self._invalid("points", fault)
        if u.shape != (len(points),) or not np.isfinite(u).all() or (u < 0).any():
            raise self._invalid("u", "an uncertainty that is missing or negative")
        if self.solid not in ("left", "right"):
            raise self._invalid("solid", f"the side {self.solid!r}")
        measured = np.array(self.measured, bool) if self.measured.size else np.ones(len(u), bool)
        if measured.shape != (len(points),):
            raise self._invalid("measured", "a mask of another length than its points")
        measured.flags.writeable = False
        budget = {name: frozen(part) for name, part in self.budget.items()}
        if any(part.shape != u.shape for part in budget.values()):
            raise self._invalid("budget", "a part of another length than its points")
        shared = {name: frozen(modes) for name, modes in self.shared.items()}
        if any(modes.shape[1:] != points.shape for modes in shared.values()):
            raise self._invalid("shared", "common errors of another length than its points")
        if not shared.keys() <= budget.keys():
            raise self._invalid("shared", "a common error that its budget doesn't have")
        object.__setattr__(self, "shared", MappingProxyType(shared))
        object.__setattr__(self, "points", points)
        object.__setattr__(self, "u", u)
        object.__setattr__(self, "measured", measured)
        object.__setattr__(self, "budget", MappingProxyType(budget))

    def _invalid(self, name: str, what: str) -> ScribeError:
        return ScribeError(
            "outline-invalid",
            what=f"the outline has {what} ({name})",
            where=self.origin or "outline",
            do="trace it again, or mend the file it was read from",
        )

    @property
    def closed(self) -> bool:
        """True when it ends where it began."""
        return bool(np.hypot(*(self.points[-1] - self.points[0])) <= CLOSED_MM)

    @property
    def U(self) -> Array:
        """(N,) mm, expanded uncertainty with coverage factor k = 2 (GUM 6.2)."""
        return 2.0 * self.u

    def __len__(self) -> int:
        return len(self.points)

    def with_(self, **changes: Any) -> Outline:
        """A new outline with some fields changed; the invariants are checked again."""
        return replace(self, **changes)

    def reversed(self) -> Outline:
        """The same outline travelled the other way: the solid side changes its name."""
        return self.with_(
            points=self.points[::-1],
            u=self.u[::-1],
            solid="right" if self.solid == "left" else "left",
            measured=self.measured[::-1],
            budget={name: part[::-1] for name, part in self.budget.items()},
            shared={name: modes[:, ::-1] for name, modes in self.shared.items()},
        )

    def shared_at(self, station: Array) -> dict[str, Array]:
        """The common errors carried to stations (M,) along the outline: (K, M, 2) each."""
        s = stations(self.points)
        return {
            name: np.stack(
                [[np.interp(station, s, mode[:, k]) for k in (0, 1)] for mode in modes]
            ).transpose(0, 2, 1)
            for name, modes in self.shared.items()
            if len(modes)
        }

    def in_frame(self, outer_from_inner: Rigid) -> Outline:
        """The same outline expressed in another frame; its datum goes with it."""
        return self.with_(
            points=outer_from_inner.apply(self.points),
            shared={name: outer_from_inner.turn(modes) for name, modes in self.shared.items()},
            datum=replace(
                self.datum,
                origin=outer_from_inner.apply(self.datum.origin),
                direction=outer_from_inner.turn(self.datum.direction),
            ),
        )

    def part(self, which: Mask | slice) -> Outline:
        """Some of its points: a mask (N,), or a slice."""
        return self.with_(
            points=self.points[which],
            u=self.u[which],
            measured=self.measured[which],
            budget={name: part[which] for name, part in self.budget.items()},
            shared={name: modes[:, which] for name, modes in self.shared.items()},
        )

    def noted(self, note: str) -> str:
        """Its origin, with what was done to it since."""
        return f"{self.origin}; {note}" if self.origin else note

    def shape_alone(self) -> Outline:
        """The same points with the u of the shape: what moves the whole outline is left out.

        A piece is placed by its datum, not by the sheet, so a common shift does no harm there.
        The shift is that which leaves least (in squares) along the outline's length, however
        close together its points lie.
        """
        if not self.shared:
            return self
        share = spans(self.points) / spans(self.points).sum()
        shared = {
            name: modes - np.einsum("n,knd->kd", share, modes)[:, None]
            for name, modes in self.shared.items()
        }
        budget = dict(self.budget)
        budget |= {name: across(modes, self.points) for name, modes in shared.items()}
        u = np.sqrt(sum(part**2 for part in budget.values()))
        return self.with_(u=u, budget=budget, shared=shared)

    def quantity_u(self, gradient: Array) -> float:
        """Standard uncertainty of a quantity that the points determine.

        gradient: (N, 2), the quantity's change for each mm of each coordinate. Errors that the
        points share are added up before they are squared, others after (JCGM 100, 5.2.2).
        """
        common = sum(
            float((np.einsum("knd,nd->k", modes, gradient) ** 2).sum())
            for modes in self.shared.values()
        )
        lone = [part for name, part in self.budget.items() if name not in self.shared]
        own = np.asarray(sum(part**2 for part in lone)) if self.budget else self.u**2
        sideways = (gradient * normals(self.points)).sum(axis=1)
        return float(np.sqrt(common + (own * sideways**2).sum()))


def across(modes: Array, points: Array) -> Array:
    """(N,) mm standard uncertainty across an outline (N, 2) of common errors (K, N, 2)."""
    return np.asarray(np.sqrt((np.einsum("knd,nd->kn", modes, normals(points)) ** 2).sum(axis=0)))
