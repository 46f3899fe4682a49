"""What was found on the way to an outline, in a fitter's words.

The measuring code names its facts for programs ("edge contrast": "0.33"); whoever reads a report
is told what that is of. A fact that isn't named here stands as it is.
"""

from __future__ import annotations

from collections.abc import Mapping

# name: (what a fitter calls it, its words with the fact in them)
_WORDS = {
    "traced": ("what was traced", "%s"),
    "object": ("where the thing lies", "on the side of the red line that is %s"),
    "edge blur": ("softness of the edge", "%s from light to dark"),
    "edge contrast": ("light at the edge", "differs by %s (1: white beside black, 0: alike)"),
    "line contrast": ("light at the line", "differs by %s (1: black on white, 0: alike)"),
    "gaps": ("gaps in the line", "%s"),
    "measured": ("measured", "%s of its length"),
    "pins": ("pins seen", "%s"),
    "pitch": ("from pin to pin", "%s"),
    "tips": ("ends of the pins", "%s"),
    "turn of the gauge": ("gauge lies askew on the sheet by", "%s"),
    "steps between pins": ("steps of the wall that fell between two pins", "%s"),
    "frame": ("points are counted on", "%s"),
}
# What stands for a word within a fact, once for each that is named here.
_WITHIN = {
    "marks": (
        ("noise", "they scatter by"), ("px", "pixels"),
        ("blur", "light and dark part over"), ("px", "pixels"),
    ),
    "camera": (("tilt", "tilted by"), ("px", "pixels")),
}  # fmt: skip
_SIDES = {"below": "towards the sheet's foot", "above": "towards the sheet's upper edge"}


def told(facts: Mapping[str, str]) -> dict[str, str]:
    """The facts in the same order.

    >>> told({"edge contrast": "0.33", "sheet": "A4"})
    {'light at the edge': 'differs by 0.33 (1: white beside black, 0: alike)', 'sheet': 'A4'}
    >>> told({"camera": "tilt 9 degrees, focal length 1700 px, lens of px.toml"})["camera"]
    'tilted by 9 degrees, focal length 1700 pixels, lens of px.toml'
    """
    said: dict[str, str] = {}
    for name, fact in facts.items():
        for word, telling in _WITHIN.get(name, ()):
            fact = fact.replace(word, telling, 1)
        shown, words = _WORDS.get(name, (name, "%s"))
        said[shown] = words % _SIDES.get(fact, fact)
    return said
