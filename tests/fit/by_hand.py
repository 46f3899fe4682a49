"""Blanks, outlines and pieces for arithmetic by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.errors import ScribeError
from scribe.fit.piece import fit_piece
from scribe.job import PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Polygon

EXACT = 1e-6  # mm, what set operations on metres of wood may lose


def rectangle(length, width):
    return Blank(Polygon(np.array([[0.0, 0], [length, 0], [length, width], [0, width]])))


def outline(points, solid="left", u=0.1, **more):
    return Outline(points, np.full(len(points), u), solid, **more)


def fit(blank, *edges, outlines, **more):
    return fit_piece(PieceJob("shelf", blank, tuple(edges), **more), outlines)


def refusal(*args, **more):
    with pytest.raises(ScribeError) as caught:
        fit(*args, **more)
    return caught.value


def rows(cut):
    table = cut.removal
    return {
        (round(float(s), 3), kind): (float(r), float(w))
        for s, kind, r, w in zip(
            table.station, table.kind, table.remove, table.width_left, strict=True
        )
    }


def area(polygon):
    return shapely.Polygon(polygon.outer, polygon.holes).area
