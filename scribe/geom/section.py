"""Stiffness of a section glued up of rectangles: the transformed section.

Plane sections stay plane, so every part bends about one axis, which lies where the parts'
moduli times areas balance: EI = sum E (b h^3 / 12 + b h (y - axis)^2). That needs joints that
don't slip: glued, or screwed so closely that they act so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Part(NamedTuple):
    """A rectangle of a section. breadth, height: mm. middle: mm, its height above the base.

    modulus: N/mm^2.
    """

    breadth: float
    height: float
    middle: float
    modulus: float


def bending_stiffness(parts: Sequence[Part]) -> float:
    """EI in N mm^2 about the axis on which the section bends.

    A board of 300 x 20 mm by its own: E b h^3 / 12.

    >>> bending_stiffness([Part(300.0, 20.0, 10.0, 3000.0)]) == 3000.0 * 300 * 20**3 / 12
    True
    """
    pull = [part.modulus * part.breadth * part.height for part in parts]
    axis = sum(a * part.middle for a, part in zip(pull, parts, strict=True)) / sum(pull)
    return sum(
        a * (part.height**2 / 12.0 + (part.middle - axis) ** 2)
        for a, part in zip(pull, parts, strict=True)
    )
