"""Materials a shelf or rail is made of: stiffness with its range, creep, and their sources.

Moduli in N/mm^2. `low` and `high` enclose what a fitter may buy under the name: two standard
deviations where the source tells the scatter, else the spread of its grades. Where a source
gives a minimum that panels must reach, that is `low` and `typical` is a little above it.
Creep is the factor by which a lasting load's first deflection grows: final = first (1 + creep).
Values from memory say so; the range is what makes them usable. Densities: common practice, no
source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Material:
    """low, typical, high: modulus of elasticity in bending along the span, N/mm^2.

    creep: added share of deflection under a lasting load, indoors and dry.
    shear: modulus of elasticity over shear modulus. density: kg/m^3, on the heavy side.
    """

    low: float
    typical: float
    high: float
    creep: float
    shear: float
    density: float
    source: str


_WOOD_HANDBOOK = (
    "Wood Handbook FPL-GTR-190, table 5-3 at 12 % moisture, +-2 x 22 % (table 5-6); creep and "
    "E/G = 16: EN 1995-1-1 table 3.2 and EN 338; from memory"
)
_CLASSES = "EN 338: 5 % value to 1.33 times the mean; creep EN 1995-1-1 table 3.2; from memory"
_MDF = "EN 622-5 minimum as low; creep EN 1995-1-1 table 3.2 (MDF.LA); E/G assumed; from memory"
_CHIPBOARD = "EN 312 minimum as low; creep EN 1995-1-1 table 3.2; E/G assumed; from memory"
_SPREAD = 0.44  # two coefficients of variation of the modulus of clear wood


def _wood(modulus: float) -> Material:
    low, high = modulus * (1 - _SPREAD), modulus * (1 + _SPREAD)
    return Material(low, modulus, high, 0.6, 16.0, 750.0, _WOOD_HANDBOOK)


MATERIALS: dict[str, Material] = {
    "American beech": _wood(11_900.0),
    "black cherry": _wood(10_300.0),
    "black walnut": _wood(11_600.0),
    "Douglas-fir, coast": _wood(13_400.0),
    "eastern white pine": _wood(8_500.0),
    "red alder": _wood(9_500.0),
    "red oak": _wood(12_500.0),
    "sugar maple": _wood(12_600.0),
    "western redcedar": _wood(7_700.0),
    "white ash": _wood(12_000.0),
    "white oak": _wood(12_300.0),
    "softwood C16": Material(5_400.0, 8_000.0, 10_600.0, 0.6, 16.0, 500.0, _CLASSES),
    "softwood C24": Material(7_400.0, 11_000.0, 14_600.0, 0.6, 16.0, 500.0, _CLASSES),
    "birch plywood, along": Material(
        7_500.0, 9_500.0, 11_500.0, 0.8, 25.0, 700.0,
        "trade range of 12 to 21 mm sheets, face grain along the span, common practice, no source; "
        "creep EN 1995-1-1 table 3.2, from memory",
    ),
    "birch plywood, across": Material(
        5_000.0, 7_000.0, 9_000.0, 0.8, 25.0, 700.0,
        "trade range of 12 to 21 mm sheets, face grain across the span, common practice, no "
        "source; creep EN 1995-1-1 table 3.2, from memory",
    ),
    "OSB/3, along": Material(
        3_500.0, 4_200.0, 5_500.0, 1.5, 20.0, 650.0,
        "EN 300 minimum as low; creep EN 1995-1-1 table 3.2; E/G assumed; from memory",
    ),
    "MDF": Material(2_150.0, 2_600.0, 3_400.0, 2.25, 16.0, 780.0, _MDF),
    "particleboard": Material(1_500.0, 2_000.0, 2_800.0, 2.25, 16.0, 700.0, _CHIPBOARD),
    "steel": Material(
        210_000.0, 210_000.0, 210_000.0, 0.0, 2.6, 7850.0, "EN 1993-1-1, 3.2.6; from memory"
    ),
    "aluminium": Material(
        70_000.0, 70_000.0, 70_000.0, 0.0, 2.6, 2700.0, "EN 1999-1-1, 3.2.5; from memory"
    ),
}  # fmt: skip
