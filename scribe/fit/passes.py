"""Which tool takes which part of a cut, in which pass, and where none of them can go.

In: what to remove along an edge as a profile, and the fitter's tools in order of preference.
Out: runs along the stations, each with a rough pass (a saw that stands off the line) or none
and a finish pass to the line; and the tight spots where a tool's radius bridges a hollow.

A round tool works from the waste side: it reaches what a disc of its radius reaches, which is
the closing of the profile by that disc (ISO 16610-41). What lies between closing and profile
it leaves standing; at an inner corner that is a fillet of its own radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.geom.morphology import disk_closing
from scribe.piece import BY_HAND, Passes, Run, TightSpot
from scribe.tools import Tool

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

LEFT_MM = 0.1  # what a tool may leave standing: less can't be seen in a joint
_NOTHING_MM = 0.05
_SAMPLE_MM = 1.0
_SHORT_MM = 200.0  # nobody changes tools for less, if one can do both
_CRUMB_MM = 30.0  # shorter than the tools are
_SPREAD = 1e-4  # mm between the two sides of a step, so that stations rise


def plan(station: Array, remove: Array, tools: Sequence[Tool]) -> Passes:
    """Plan the passes along one cut.

    station: (N,) mm, not falling (equal at a step); remove: (N,) mm, 0 or more.
    """
    s, r = _samples(station, remove)
    left = {tool.name: _left(s, r, tool) for tool in tools}
    ways = _ways(r, left, tools)
    # The first way that can, in the order of preference; what none can is done by hand.
    chosen = np.argmax([way.able for way in ways], axis=0)
    chosen = _without_crumbs(s, _settled(s, chosen, ways), ways)
    bounds = [0, *(np.flatnonzero(np.diff(chosen)) + 1).tolist(), len(s)]
    runs = []
    for first, last in pairwise(bounds):
        way, part = ways[int(chosen[first])], r[first:last]
        stop = float(s[min(last, len(s) - 1)])
        runs.append(
            Run(float(s[first]), stop, way.saw, way.finish, float(part.min()), float(part.max()))
        )
    return Passes(tuple(runs), tuple(_tight(s, left, runs, tools)))


@dataclass(frozen=True)
class _Way:
    """One way to take a place down to the line; able: (N,) where it can."""

    saw: Tool | None
    finish: str | None
    able: Mask


def _ways(r: Array, left: dict[str, Array], tools: Sequence[Tool]) -> list[_Way]:
    """Nothing; a finish alone; a saw and a finish; what is left over by hand."""
    finishes = [tool for tool in tools if tool.work == "finish"]
    ways = [_Way(None, None, r <= _NOTHING_MM)]
    for tool in finishes:
        takes = (tool.least <= r) & (r <= tool.most)
        ways.append(_Way(None, tool.name, takes & (left[tool.name] <= LEFT_MM)))
    for saw in (tool for tool in tools if tool.work == "saw"):
        saws = (saw.least <= r) & (r <= saw.most) & (left[saw.name] <= LEFT_MM)
        for tool in finishes:
            fits = (tool.least <= saw.standoff) & (saw.standoff <= tool.most)
            ways.append(_Way(saw, tool.name, saws & fits & (left[tool.name] <= LEFT_MM)))
        ways.append(_Way(saw, BY_HAND, saws))
    ways.append(_Way(None, BY_HAND, np.ones(len(r), bool)))
    return ways


def _samples(station: Array, remove: Array) -> tuple[Array, Array]:
    """The profile about every millimetre, its corners kept, stations rising strictly."""
    steps = np.concatenate([[0], np.cumsum(np.diff(station) < _SPREAD)])
    apart = station + _SPREAD * steps
    s = np.unique(np.concatenate([apart, np.arange(apart[0], apart[-1], _SAMPLE_MM)]))
    return s, np.interp(s, apart, np.maximum(remove, 0.0))


def _left(s: Array, r: Array, tool: Tool) -> Array:
    """(N,) mm that a tool leaves standing: the waste side lies above the profile -r."""
    if tool.radius == 0.0:
        return np.zeros(len(s))
    # Beyond both ends the tool comes and goes freely.
    away = np.array([-2.0, -1.0]) * tool.radius
    x = np.concatenate([s[0] + away, s, s[-1] - away[::-1]])
    deep = np.full(2, -float(r.max()) - 2.0 * tool.radius)
    z = np.concatenate([deep, -r, deep])
    return np.asarray((disk_closing(x, z, tool.radius).height - z)[2:-2])


def _settled(s: Array, chosen: Index, ways: Sequence[_Way]) -> Index:
    """Short stretches go with the longer neighbour whose tools can do them as well."""
    chosen, lasting = chosen.copy(), set[int]()
    while True:
        bounds = np.array([0, *(np.flatnonzero(np.diff(chosen)) + 1), len(chosen)])
        size = s[np.minimum(bounds[1:], len(s) - 1)] - s[bounds[:-1]]
        short = [k for k in range(len(size)) if size[k] < _SHORT_MM and bounds[k] not in lasting]
        if not short or len(size) == 1:
            return chosen
        k = min(short, key=lambda n: float(size[n]))
        own = slice(*bounds[k : k + 2])
        sides = [n for n in (k - 1, k + 1) if 0 <= n < len(size)]
        way = {n: ways[int(chosen[bounds[n]])] for n in sides}
        able = [n for n in sides if way[n].finish != BY_HAND and way[n].able[own].all()]
        if able:
            chosen[own] = chosen[bounds[max(able, key=lambda n: float(size[n]))]]
        else:
            lasting.add(int(bounds[k]))


def _without_crumbs(s: Array, chosen: Index, ways: Sequence[_Way]) -> Index:
    """Crumbs of a stretch go with a neighbour; where its tool can't follow is a tight spot.

    What must be sawn stays with a neighbour that is sawn.
    """
    chosen = chosen.copy()
    while True:
        bounds = np.array([0, *(np.flatnonzero(np.diff(chosen)) + 1), len(chosen)])
        size = s[np.minimum(bounds[1:], len(s) - 1)] - s[bounds[:-1]]
        way = [ways[int(chosen[first])] for first in bounds[:-1]]
        pairs = [
            (float(size[k]), k, n)
            for k in range(len(size))
            for n in (k - 1, k + 1)
            if size[k] < _CRUMB_MM and 0 <= n < len(size)
            if way[n].saw is not None or way[k].saw is None
        ]
        if not pairs:
            return chosen
        _, k, n = min(pairs, key=lambda pair: (pair[0], -float(size[pair[2]])))
        chosen[bounds[k] : bounds[k + 1]] = chosen[bounds[n]]


def _tight(
    s: Array, left: dict[str, Array], runs: Sequence[Run], tools: Sequence[Tool]
) -> list[TightSpot]:
    """Hollows in which the tool that takes most of the cut's length would leave something."""
    spots = []
    for work in ("saw", "finish"):
        used: dict[str, float] = {}
        for run in runs:
            name = (run.rough.name if run.rough else None) if work == "saw" else run.finish
            if name is not None and name != BY_HAND:
                used[name] = used.get(name, 0.0) + run.stop - run.start
        if not used:
            continue
        tool = next(t for t in tools if t.name == max(used, key=used.__getitem__))
        over = left[tool.name] > LEFT_MM
        edges = np.flatnonzero(np.diff(np.concatenate([[False], over, [False]]).astype(int)))
        for first, last in zip(edges[::2], edges[1::2], strict=True):
            deepest = first + int(left[tool.name][first:last].argmax())
            others = [t for t in tools if t.work == work and t is not tool]
            can = (t.name for t in others if (left[t.name][first:last] <= LEFT_MM).all())
            spots.append(
                TightSpot(
                    tool,
                    float(s[first]),
                    float(s[last - 1]),
                    float(s[deepest]),
                    float(left[tool.name][deepest]),
                    next(can, BY_HAND),
                )
            )
    return sorted(spots, key=lambda spot: (spot.start, spot.tool.name))
