"""Every number taken from a standard or a handbook, with its clause."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

# International inch (1959): exact.
MM_PER_INCH = 25.4

# ISO 32000-1, 8.3.2.3: default user space unit of a PDF.
PT_PER_MM = 72.0 / MM_PER_INCH

# ISO 216: (width, height) of the trimmed sheet. Letter and Tabloid: ANSI/ASME Y14.1.
PAPER_MM: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
}
# What a template may be printed on as well, by a plotter; its cover then stays A4.
TEMPLATE_PAPER_MM = PAPER_MM | {
    "Tabloid": (279.4, 431.8),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
}

# Widths of paper from a roll, from a till's to a plotter's (common practice, no source).
ROLL_MM = (150.0, 1700.0)

# ISO 32000-1, annex C: a page may be 14 400 units long.
LONGEST_PAGE_MM = 14_400.0 / PT_PER_MM

# ISO 216: permitted deviation of a trimmed dimension, by its length: up to 150, up to 600, above.
PAPER_TOLERANCE_MM = ((150.0, 1.5), (600.0, 2.0), (float("inf"), 3.0))

# ISO/IEC 7810, ID-1: width, height and thickness. The standard lets a new card be off by about
# 0.1 mm and a used one by more (limits from memory): half width 0.15, rectangular.
CARD_MM = (85.60, 53.98)
CARD_THICKNESS_MM = 0.76
CARD_U_MM = 0.15 / 3**0.5
CARD_THICKNESS_U_MM = 0.08 / 3**0.5  # the same standard: 0.76 +- 0.08 mm

# JCGM 100 (GUM), 6.2: coverage factor of the expanded uncertainty used everywhere here.
COVERAGE_FACTOR = 2.0

# Diagonal of the 24 mm x 36 mm frame to which a 35 mm equivalent focal length refers
# (CIPA DC-008, tag FocalLengthIn35mmFilm).
FULL_FRAME_DIAGONAL_MM = 1872.0**0.5


class Shrinkage(NamedTuple):
    """Change of a width per % of moisture content: rings flat in the width, or upright in it."""

    tangential: float
    radial: float


# USDA Wood Handbook, FPL-GTR-190, table 13-5 (Douglas-fir and western redcedar computed by its
# equation 13-3); below them the differential shrinkage of DIN 68100 tables, seen as copies.
TIMBER: dict[str, Shrinkage] = {
    "American beech": Shrinkage(0.00431, 0.00190),
    "black cherry": Shrinkage(0.00248, 0.00126),
    "black walnut": Shrinkage(0.00274, 0.00190),
    "Douglas-fir, coast": Shrinkage(0.00267, 0.00165),
    "red alder": Shrinkage(0.00256, 0.00151),
    "red oak": Shrinkage(0.00369, 0.00158),
    "sugar maple": Shrinkage(0.00353, 0.00165),
    "western redcedar": Shrinkage(0.00172, 0.00081),
    "white fir": Shrinkage(0.00245, 0.00112),
    "white oak": Shrinkage(0.00365, 0.00180),
    "European ash": Shrinkage(0.0038, 0.0021),
    "European beech": Shrinkage(0.0041, 0.0020),
    "European larch": Shrinkage(0.0030, 0.0014),
    "European oak": Shrinkage(0.0036, 0.0016),
    "Scots pine": Shrinkage(0.0036, 0.0019),
    "spruce": Shrinkage(0.0039, 0.0019),
}
# Two tables of the same species differ by 20 to 25 % (DIN 68100 tables, compared).
TIMBER_SPREAD = 0.25
# ANSI A208.2 (MDF) and A208.1 (particleboard): linear expansion, %; the range of humidity, and
# the particleboard's figure, from memory.
PANEL_BOUND_PERCENT = {"MDF": 0.33, "particleboard": 0.40}

# 2014/32/EU, annex X (MI-008), class II, from memory: a tape may be off by a + b L mm, L in metres
# rounded up.
TAPE_CLASS_II_MM = (0.3, 0.2)

# Linear expansion per K of what pipes are made of: handbook values from memory, to two digits.
PIPE_EXPANSION = {"copper": 17e-6, "steel": 12e-6, "multilayer": 26e-6, "PE-X": 190e-6}

# Standard acceleration of free fall, m/s^2 (3rd CGPM, 1901): exact.
STANDARD_GRAVITY = 9.80665

# DIN 18202, table 3 (as printed in two independent copies): gap under a straight edge, mm, between
# high points so many mm apart; row 3 finished floors, row 6 finished walls and soffits.
FLATNESS_MM = {
    3: ((100.0, 2.0), (1000.0, 4.0), (4000.0, 10.0), (10000.0, 12.0), (15000.0, 15.0)),
    6: ((100.0, 3.0), (1000.0, 5.0), (4000.0, 10.0), (10000.0, 20.0), (15000.0, 25.0)),
}
# NHBC Standards 2020, 9.1.3: walls up to 3 m high plumb within 8 mm.
PLUMB_MM, PLUMB_UP_TO_MM = 8.0, 3000.0


def flatness_limit(row: int, distance: float) -> float:
    """mm allowed under a straight edge over a distance in mm: linear in between, to whole mm.

    >>> flatness_limit(6, 2000.0)
    7.0
    """
    table = FLATNESS_MM[row]
    for (near, low), (far, high) in pairwise(table):
        if distance <= far:
            part = max(distance - near, 0.0) / (far - near)
            return float(int(low + part * (high - low) + 0.5))
    return table[-1][1]
