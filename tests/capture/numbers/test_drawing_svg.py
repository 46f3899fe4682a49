"""SVG as it comes from elsewhere: units, transforms, layers, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from tests.capture.numbers.drawings import LINE, read, svg


@pytest.mark.parametrize(
    "root",
    [
        'width="200mm" height="100mm"', 'width="20cm" height="10cm"', 'width="800Q" height="400Q"',
        'width="7.874015748in" height="3.937007874in"',
        'width="566.929134pt" height="283.464567pt"',
        'width="200mm"', 'height="100mm"', 'width="200mm" height="auto"',
        'width="300mm" height="100mm" preserveAspectRatio="xMinYMin"',
        'width="200mm" height="100mm" viewBox="0 -0 200 100"',
    ],
)  # fmt: skip
def test_whatever_length_an_svg_states(tmp_path: Path, root: str) -> None:
    """CSS Values and Units: 40 Q are 1 cm, 72 pt an inch. One side follows from the other."""
    outline = read(svg(tmp_path, LINE, root))
    assert outline.points == pytest.approx(np.array([[10.0, -20.0], [110.0, -22.0]]), abs=1e-6)


def test_a_unit_is_that_of_the_viewbox(tmp_path: Path) -> None:
    """400 px wide for 200 units: what the coordinates say is what a person sees."""
    path = svg(tmp_path, LINE, 'width="400" height="200" viewBox="0 0 200 100"')
    assert read(path, unit=10.0).points[-1] == pytest.approx([1100.0, -220.0])


def test_every_transform_above_counts(tmp_path: Path) -> None:
    """Inner first: (x + 5, y + 5), twice as large from (3, 4) on, turned by 90 degrees."""
    path = svg(
        tmp_path,
        '<g transform="rotate(90)"><g transform="translate(3 4) scale(2)">'
        f'<g transform="matrix(1 0 0 1 5 5)">{LINE}</g></g></g>',
    )
    x, y = np.array([10.0, 110.0]), np.array([20.0, 22.0])
    x, y = 3.0 + 2.0 * (x + 5.0), 4.0 + 2.0 * (y + 5.0)
    assert read(path, building="left").points == pytest.approx(np.column_stack([-y, -x]), abs=1e-6)


def test_a_layer_by_the_name_that_people_see(tmp_path: Path) -> None:
    name = 'xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:label="wall" id="layer1"'
    path = svg(tmp_path, f'<g {name}>{LINE}</g><path d="M 0 50 L 110 50"/>')
    assert read(path, "wall").points == pytest.approx(read(path, "layer1").points)


PHYSICAL = 'width="200mm" height="100mm"'
REFUSED_SVG = {
    "no size": (LINE, "", "drawing-units"),
    "percent": (LINE, 'width="100%" height="100%"', "drawing-units"),
    "pixels": (LINE, 'width="200px" height="100px"', "drawing-units"),
    "letters": (LINE, 'width="20em" height="10em"', "drawing-units"),
    "negative": (LINE, 'width="-200mm" height="100mm"', "drawing-units"),
    "one side in px": (LINE, 'width="200mm" height="100"', "drawing-units"),
    "clip": (f'<g clip-path="url(#c)">{LINE}</g>', PHYSICAL, "drawing-hidden"),
    "mask": (f'<g style="fill:none;mask:url(#c)">{LINE}</g>', PHYSICAL, "drawing-hidden"),
    "symbol": ('<symbol id="s" viewBox="0 0 9 9"/><use href="#s"/>', PHYSICAL, "drawing-entity"),
    "a bad path": ('<path d="M 0 0 L 50 5 L foo"/>', PHYSICAL, "drawing-unreadable"),
    "half a file": ("<path", PHYSICAL, "drawing-unreadable"),
    "never shown": (f"<defs>{LINE}</defs>", PHYSICAL, "drawing-empty"),
    "crosses": ('<path d="M 0 50 C 150 0 -50 0 100 50"/>', PHYSICAL, "drawing-crosses"),
    "two lines": (LINE + '<path d="M 0 50 h 9"/>', PHYSICAL, "drawing-parts"),
}


@pytest.mark.parametrize("name", REFUSED_SVG)
def test_an_svg_that_says_something_else(tmp_path: Path, name: str) -> None:
    inside, root, kind = REFUSED_SVG[name]
    with pytest.raises(ScribeError) as caught:
        read(svg(tmp_path, inside, root))
    assert caught.value.kind == kind, str(caught.value)
