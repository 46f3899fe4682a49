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
    """Refuse the first reading that would have to go through a moulding."""
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    for moulding in survey.mouldings:
        for wall in moulding.walls:
            if moulding.kind == "skirting":
                low[wall] = moulding.tall
            else:
                high[wall] = moulding.out
    for each in survey.readings:
        if isinstance(each, HeightTaken) and each.distance < high.get(each.side, 0.0):
            raise _covered(each, "cornice", each.side)
        for met, up in _met(each):
            if up < low.get(met, 0.0):
                raise _covered(each, "skirting", met)
            if up == inf and met in high:
                raise _covered(each, "cornice", met)


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


def _covered(reading: Taken, moulding: str, wall: str) -> ScribeError:
    return ScribeError(
        "survey-covered",
        what=f"{reading.name} can't have met the {wall} wall: the {moulding} covers it there",
        where=reading.where,
        do=f"measure clear of the {moulding}, and say where",
    )
