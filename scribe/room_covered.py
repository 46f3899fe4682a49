"""Where a reading can't have met the wall, since a skirting or a cornice covers it there."""

from __future__ import annotations

from math import inf

from scribe.errors import ScribeError
from scribe.room_survey import (
    Corner,
    DepthTaken,
    DiagonalTaken,
    HeightTaken,
    LeanTaken,
    PlumbTaken,
    RoomSurvey,
    Spot,
    Taken,
    WidthTaken,
)


def refuse_covered(survey: RoomSurvey) -> None:
    """Refuse readings that would have to go through a moulding; all of them at once."""
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    for moulding in survey.mouldings:
        for wall in moulding.walls:
            if moulding.kind == "skirting":
                low[wall] = max(low.get(wall, 0.0), moulding.tall)
            else:
                high[wall] = max(high.get(wall, 0.0), moulding.out)
    covered: list[tuple[Taken, str, str]] = []
    for each in survey.readings:
        if isinstance(each, HeightTaken) and each.distance < high.get(each.side, 0.0):
            covered.append((each, "cornice", each.side))
        for met, up in _met(each):
            if up < low.get(met, 0.0):
                covered.append((each, "skirting", met))
            if up == inf and met in high:
                covered.append((each, "cornice", met))
    if covered:
        raise _refusal(covered)


def _met(reading: Taken) -> list[tuple[str, float]]:
    """The walls that a reading meets, and how far up; a top corner is infinitely far up."""
    if isinstance(reading, WidthTaken):
        return [("left", reading.height), ("right", reading.height)]
    if isinstance(reading, DepthTaken):
        return [("back", reading.height)]
    if isinstance(reading, LeanTaken):
        return [(reading.wall, reading.low)]
    if isinstance(reading, PlumbTaken):
        return [(reading.wall, reading.height)]
    if isinstance(reading, DiagonalTaken):
        return [*_ends(reading.start), *_ends(reading.end)]
    return []


def _ends(where: Corner | Spot) -> list[tuple[str, float]]:
    if isinstance(where, Spot):
        return [(where.on, where.height)]
    up = 0.0 if where.end == "bottom" else inf
    return [(where.side, up), *([("back", up)] if where.plane == "back" else [])]


def _refusal(covered: list[tuple[Taken, str, str]]) -> ScribeError:
    said = [
        f"{reading.name} can't have met the {wall} wall: the {moulding} covers it there"
        for reading, moulding, wall in covered
    ]
    mouldings = " and the ".join(dict.fromkeys(moulding for _, moulding, _ in covered))
    return ScribeError(
        "survey-covered",
        what="; ".join(said),
        where=covered[0][0].where,
        do=f"measure clear of the {mouldings}, and say where",
    )
