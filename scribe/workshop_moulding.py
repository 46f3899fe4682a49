"""`[[moulding]]` of a room's file to `Moulding`: how far it leans, and the corner it turns."""

from __future__ import annotations

from math import atan2, degrees, hypot

from scribe.saw import Moulding
from scribe.toml_table import Table

# U (k = 2) where the fitter states none (common practice, no source): degrees of an angle that a
# maker prints or a bevel takes; mm of a length read with a rule.
SPRING_U95, CORNER_U95 = 0.5, 0.5
RULE_U95 = 0.5


def read_moulding(table: Table) -> Moulding:
    """One moulding."""
    table.allow("name", "spring", "spring_U", "drop", "projection", "corner", "corner_U")
    table.need("name", 'write name = "cornice"')
    if "corner_U" in table and "corner" not in table:
        raise table.refuse("job-key", "corner_U", "there is no corner", "write corner as well")
    corner = table.number("corner", 20.0, 340.0) if "corner" in table else None
    if corner is not None and abs(corner - 180.0) < 1.0:
        raise table.wrong("corner", "degrees between the walls, such as 90, or 270 round a breast")
    corner_u = table.number("corner_U", 0.0, 45.0) if "corner_U" in table else CORNER_U95
    return Moulding(
        table.text("name"), *_spring(table), corner, 0.0 if corner is None else corner_u / 2.0
    )


def _spring(table: Table) -> tuple[float, float]:
    """Degrees by which its back leans from the wall, and u: stated, or from what it takes up of
    wall and ceiling, S = atan(projection / drop).
    """
    if ("spring" in table) == ("drop" in table or "projection" in table):
        raise table.refuse(
            "job-key",
            None,
            "a moulding needs either spring, or drop and projection",
            "write spring = 38 (degrees from the wall), or drop = 80 and projection = 62, as it "
            "takes up wall and ceiling",
        )
    if "spring" in table:
        u95 = table.number("spring_U", 0.0, 20.0) if "spring_U" in table else SPRING_U95
        return table.number("spring", 5.0, 85.0), u95 / 2.0
    if "spring_U" in table:
        raise table.refuse("job-key", "spring_U", "there is no spring", "leave it out")
    for key in ("drop", "projection"):
        table.need(key, f"write {key} = ..., in mm")
    drop, projection = (table.length(key, zero=False) for key in ("drop", "projection"))
    return degrees(atan2(projection, drop)), degrees(RULE_U95 / 2.0 / hypot(drop, projection))
