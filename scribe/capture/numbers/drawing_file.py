"""What the readers of DXF and SVG have in common: how fine a curve is cut, and how they refuse."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

CHORD_MM = 0.01  # a curve departs from its chords by no more
JOIN_MM = 0.05  # ends so near to each other are one
_SAME_MM = 1e-9
_NAMED = 6  # layers or ids that a refusal lists


def clean(points: Array) -> Array:
    """Without points that repeat the one before."""
    keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > _SAME_MM])
    return np.asarray(points[keep])


def refuse(kind: str, path: Path, what: str, do: str) -> ScribeError:
    """A refusal about a drawing."""
    return ScribeError(kind, what=what, where=str(path), do=do)


def no_units(path: Path) -> ScribeError:
    """It has no size in the world."""
    return refuse(
        "drawing-units",
        path,
        "nothing says what its unit is",
        "state it with {unit}: mm, cm, m or in",
    )


def nothing_drawn(path: Path, choose: str | None, names: Iterable[str]) -> ScribeError:
    """Nothing there under that name; names: where something is."""
    known = sorted(set(names))
    listed = ", ".join(known[:_NAMED]) + (" ..." if known[_NAMED:] else "")
    return refuse(
        "drawing-empty",
        path,
        f"no line is drawn on {choose!r}" if choose else "no line is drawn in it",
        f"name one that has the line: {listed}" if known else "look whether it is the right file",
    )
