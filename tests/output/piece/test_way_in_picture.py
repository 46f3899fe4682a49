"""The way in, drawn: to scale, within its picture, and words clear of lines."""

from __future__ import annotations

from io import StringIO

import numpy as np
import pytest
import shapely
import svgelements

from scribe.output.piece.drawing import text_corners
from scribe.output.piece.svg import picture_svg
from scribe.output.piece.way_in_picture import way_in_picture, way_in_words
from scribe.passage import Passage

SIZE = (170.0, 75.0)


def slid(long: float, deep: float, spare: float) -> Passage:
    """A shelf pulled out in three steps; the second is tight."""
    ring = np.array([[0.0, 0], [long, 0], [long, deep], [0.0, deep]])
    walls = tuple(np.array([[x, -2000.0], [x, 2000.0]]) for x in (-1.0, long + 1.0))
    positions = tuple(ring - [0.0, out * deep] for out in (1.0, 0.4, 0.0))
    spots = positions[1][:2]
    return Passage("slide", positions, 1, spots, spare, walls, ("left", "right"), "It slides in")


@pytest.mark.parametrize(("long", "deep"), [(1000.0, 300.0), (300.0, 900.0), (2400.0, 60.0)])
def test_it_is_to_scale_and_within_the_picture(long: float, deep: float) -> None:
    picture = way_in_picture(slid(long, deep, 0.7), SIZE)
    assert picture.size[0] == SIZE[0]
    assert picture.size[1] <= SIZE[1] + 1e-9
    rings = [path.points for path in picture.paths if path.closed]
    scale = {round(float(np.ptp(ring[:, 0])) / long, 9) for ring in rings}
    scale |= {round(float(np.ptp(ring[:, 1])) / deep, 9) for ring in rings}
    assert len(rings) == 3
    assert len(scale) == 1
    for path in picture.paths:
        assert path.points.min() >= -3.0  # the ring round a spot at the edge of the picture
        assert (path.points.max(axis=0) <= np.array(picture.size) + 3.0).all()


def test_words_stand_clear_of_the_positions_and_say_what_is_to_spare() -> None:
    picture = way_in_picture(slid(1000.0, 300.0, 0.78), SIZE)
    words = [text.words for text in picture.texts]
    assert words[:3] == ["1", "2: 0.7 mm to spare", "3: home"]  # rounded down
    lines = shapely.union_all([shapely.LinearRing(p.points) for p in picture.paths if p.closed])
    boxes = [shapely.Polygon(text_corners(text)) for text in picture.texts]
    for n, box in enumerate(boxes):
        assert not box.intersects(lines)
        assert not any(box.intersects(other) for other in boxes[n + 1 :])


def test_what_sticks_says_by_how_much() -> None:
    picture = way_in_picture(slid(1000.0, 300.0, -4.93), SIZE)
    assert "2: 5 mm too wide" in [text.words for text in picture.texts]  # 4.93 rounded up


def test_its_svg_is_read_by_another_library() -> None:
    passage = slid(1000.0, 300.0, 0.7)
    svg = svgelements.SVG.parse(StringIO(picture_svg(way_in_picture(passage, SIZE), "x")))
    polygons = [each for each in svg.elements() if isinstance(each, svgelements.Polygon)]
    assert len(polygons) == 3
    assert way_in_words(passage).startswith("It slides in: seen from its face")
