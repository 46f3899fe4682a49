"""What of a drawing must come to lie on paper: the cut lines with the margin that working at them
needs, and their stations with what is written there.
"""

from __future__ import annotations

from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import nearest, point_at, stations
from scribe.output.piece.drawing import Drawing, Path, text_corners

Array = npt.NDArray[np.float64]

WORKING_MM = 10.0  # on either side of a cut line that must be on its sheet
WORDS_MM = 1.5  # round a station's words: mirrored they don't stand just where they stood
_SAME_MM = 0.05  # ends of lines that meet
_STEP_MM = 2.0  # between points looked at along a vital path
_ON_MM = 1.0  # from a line to the foot of a station's tick on it


def all_points(drawing: Drawing) -> Array:
    """(N, 2) corners of squares round the points of the cut lines, and of the stations' words."""
    line = np.vstack([dense(closed(path), _STEP_MM) for path in drawing.layer("cut").paths])
    texts = [text_corners(text) for text in drawing.layer("stations").texts]
    words = np.vstack([np.empty((0, 2)), *texts])
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    squares = [
        (points[:, None] + pad * corners).reshape(-1, 2)
        for points, pad in ((line, WORKING_MM), (words, WORDS_MM))
    ]
    return np.vstack(squares)


def lines(drawing: Drawing) -> list[Array]:
    """The cut lines (N, 2), those joined whose ends meet; a closed one ends where it starts.

    Each runs from where its stations begin, if it has any.
    """
    left = [closed(path) for path in drawing.layer("cut").paths]
    joined: list[Array] = []
    while left:
        line = left.pop(0)
        while (
            other := next((k for k, each in enumerate(left) if _meet(line, each)), None)
        ) is not None:
            line = _joined(line, left.pop(other))
        joined.append(line)
    ticks = drawing.layer("stations").paths
    if ticks:
        feet = nearest(ticks[0].points[:1], joined[0])
        if feet.station[0] > stations(joined[0])[-1] / 2.0:
            joined[0] = joined[0][::-1]
    return joined


def words_of(drawing: Drawing, line: Array) -> tuple[Array, Array]:
    """(N, 2) corners of the words of a line's stations, and the places (N,) along it, mm."""
    layer = drawing.layer("stations")
    corners, places = [np.empty((0, 2))], [np.empty(0)]
    feet = np.array([path.points[0] for path in layer.paths]).reshape(-1, 2)
    for text in layer.texts:
        box = text_corners(text)
        tick = int(np.hypot(*(_ends(layer.paths) - text.at).T).argmin())
        found = nearest(feet[tick : tick + 1], line)
        if abs(float(found.distance[0])) < _ON_MM:
            corners.append(box)
            places.append(np.full(4, found.station[0]))
    return np.vstack(corners), np.concatenate(places)


def directions(line: Array, places: Array, reach: float) -> tuple[Array, Array]:
    """(M, 2) unit vectors along a line from `reach` mm before each place to as much after it, and
    (M,) how far the line strays from that chord, mm.
    """
    total = float(stations(line)[-1])
    before, after = np.maximum(places - reach, 0.0), np.minimum(places + reach, total)
    a, b = point_at(line, before), point_at(line, after)
    along = (b - a) / np.maximum(np.hypot(*(b - a).T), 1e-9)[:, None]
    between = before[:, None] + np.linspace(0.0, 1.0, 9) * (after - before)[:, None]
    off = point_at(line, between) - a[:, None]
    strays = np.abs(off[..., 1] * along[:, None, 0] - off[..., 0] * along[:, None, 1]).max(axis=1)
    return along, strays


def closed(path: Path) -> Array:
    """(N, 2) its points, the first again at the end of a closed one."""
    return np.vstack([path.points, path.points[:1]]) if path.closed else path.points


def dense(line: Array, step: float) -> Array:
    """(M, 2) its vertices, and points between those further apart than `step` mm."""
    place = stations(line)
    even = np.linspace(0.0, place[-1], max(2, ceil(place[-1] / step) + 1))
    at = np.unique(np.concatenate([place, even]))
    return np.column_stack([np.interp(at, place, line[:, k]) for k in (0, 1)])


def _ends(paths: tuple[Path, ...]) -> Array:
    return np.array([path.points[-1] for path in paths])


def _meet(one: Array, other: Array) -> bool:
    ends = one[[0, -1], None] - other[None, [0, -1]]
    return bool((np.hypot(*np.moveaxis(ends, -1, 0)) < _SAME_MM).any())


def _joined(one: Array, other: Array) -> Array:
    """Both in one travel; they meet at an end of each."""
    if np.hypot(*(one[-1] - other[0])) < _SAME_MM:
        return np.vstack([one, other[1:]])
    if np.hypot(*(one[-1] - other[-1])) < _SAME_MM:
        return np.vstack([one, other[-2::-1]])
    if np.hypot(*(one[0] - other[-1])) < _SAME_MM:
        return np.vstack([other[:-1], one])
    return np.vstack([other[:0:-1], one])
