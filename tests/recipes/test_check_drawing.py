"""The drawing of a checked cut lies as the piece lies on its template, and says what is turned."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import svgelements

from scribe.output.check.deviation_map import deviation_map
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource

BUILDING = {"top": "above", "bottom": "below", "left": "left", "right": "right"}


def drawn(folder: Path, edge: str, up: str) -> tuple[dict[str, np.ndarray], dict[str, float]]:
    """A piece of 400 mm along the edge that is 0.4 mm proud at 100 and 0.9 short at 300: the
    vertices of what was drawn, and the height of what was written.
    """
    length, width = (400, 300) if edge in ("top", "bottom") else (300, 400)
    (folder / "wall.csv").write_text("station,offset\n0,20\n200,23\n400,21\n", "utf-8")
    (folder / "gaps.csv").write_text("station,gap\n0,0.5\n100,0.1\n300,1.4\n400,0.5\n", "utf-8")
    (folder / "job.toml").write_text(
        f'[outline.wall]\nreadings = "wall.csv"\nas = "offsets"\nbuilding = "{BUILDING[edge]}"\n'
        f'[[piece]]\nname = "p"\nblank = {{ length = {length}, width = {width} }}\n'
        f'up = "{up}"\n[[piece.edge]]\noutline = "wall"\nedge = "{edge}"\nclearance = 0.5\n',
        "utf-8",
    )
    source = CheckSource(folder / "job.toml", "p", (folder / "gaps.csv",))
    (folder / "map.svg").write_text(deviation_map(check(source).check), "utf-8")
    svg = svgelements.SVG.parse(folder / "map.svg", reify=False)
    shapes, words = {}, {}
    for each in svg.elements():
        if isinstance(each, svgelements.Polyline):
            shapes[each.values["class"]] = np.array([[p.x, p.y] for p in each.points])
        elif isinstance(each, svgelements.SVGText):
            words[str(each.text)] = float(each.y)
    return shapes, words


@pytest.mark.parametrize(
    ("edge", "up", "arrow"),
    [
        # Seen from the face, y up, as the template lies: its top is up, or its left is.
        ("top", "top", "\u2191 up in the room"),
        ("bottom", "top", "\u2191 up in the room"),
        ("top", "left", "\u2190 up in the room"),
        ("bottom", "right", "\u2192 up in the room"),
        # Turned by a quarter until the building is above: the top of a piece whose left edge
        # lies above lies right, that of one whose right edge lies above lies left.
        ("left", "top", "\u2192 up in the room: drawn turned"),
        ("right", "top", "\u2190 up in the room: drawn turned"),
    ],
)
def test_the_drawing_lies_as_on_the_template(
    tmp_path: Path, edge: str, up: str, arrow: str
) -> None:
    shapes, words = drawn(tmp_path, edge, up)
    assert arrow in words
    below = edge == "bottom"
    building, piece = words["BUILDING: wall"], words["PIECE, seen from its face"]
    assert (building > piece) == below  # y down
    # Proud at 100 is towards the building, short at 300 away from it.
    line, gapes = shapes["edge"], shapes["gap"]
    proud, short = line[1], line[2]
    assert (proud[1] > short[1]) == below
    # Stations of the right edge count from the bottom, which then lies right.
    assert (proud[0] > short[0]) == (edge == "right")
    # What gapes most gapes away from the building, there too.
    gap = gapes[np.abs(gapes[:, 0] - short[0]).argmin()]
    rests = gapes[np.abs(gapes[:, 0] - proud[0]).argmin()]
    assert (gap[1] < rests[1]) == below
