"""What a check found, as sentences."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.cut_check import Compared, CutCheck, Stretch
from scribe.output.check.move_words import at_most, move_lines
from scribe.piece import Piece
from scribe.quantity import format_mm, format_u, round_down_mm

Array = npt.NDArray[np.float64]

_TELLS_MM = 1.0  # a larger U is no ground to say that a piece fits (our choice)
WHOLE = 0.95  # of the cut seen: below, nobody can say that it fits
_APART_MM = 12.0  # stations further apart don't make one stretch
_WORST = 2  # places named on either side of the line
_BETWEEN_MM = 40.0  # two places that are named lie further apart


def check_lines(check: CutCheck) -> list[str]:
    """Everything that was found, the verdict among the first."""
    found = check.found
    said = [
        _which(check),
        f"how the edge was laid on the plan: {found.laid.words}",
        _stands(check),
        *check.assumes,
        *_beyond(check),
        verdict(check),
        *_filler(check),
        *move_lines(check),
    ]
    if isinstance(check.second, Piece):
        said.append(f"template and table of the second cut: {check.second.name}.pdf and others")
    elif check.second is not None:
        said.append(f"no template of a second cut: {check.second}")
    if not found.laid.across:
        said.append(
            "the edge's shape alone was compared: how long and how square the piece is, tape and "
            "square tell"
        )
    return said


def _which(check: CutCheck) -> str:
    cut = check.cut
    return (
        f"{cut.edge} edge, which meets the {cut.name}; stations count from its {cut.from_end} end; "
        f"{100 * check.found.coverage:.0f} % of the cut was seen"
    )


def _stands(check: CutCheck) -> str:
    cut, U = check.cut, 2.0 * float(np.median(check.found.u))
    return (
        f"beside its planned line the {cut.edge} edge stands at most {_most(check, 1.0)} and at "
        f"most {_most(check, -1.0)}; U {U:.2f} mm. Proud is wood beyond the line, on the side of "
        f"the {cut.name}; short is wood that is missing there"
    )


def _most(check: CutCheck, sign: float) -> str:
    """By how much it is proud (1), or short (-1), and where."""
    found, name = check.found, "proud" if sign > 0.0 else "short"
    at = int((sign * found.deviation).argmax())
    most = max(float(sign * found.deviation[at]), 0.0)
    return f"{most:.2f} mm {name}" + (f" (station {found.station[at]:.0f})" if most else "")


def verdict(check: CutCheck) -> str:
    """Does it fit, pushed home as it is?"""
    gap, U, at = check.gap
    home = f"pushed home to the {check.cut.name}"
    whole = check.found.coverage >= WHOLE
    if check.as_planned:
        if (doubt := 2.0 * float(check.found.gap_u.max())) > max(check.filler, _TELLS_MM):
            worst = float(check.found.station[int(check.found.gap_u.argmax())])
            return (
                f"no gap is larger than U, but U is {format_mm(doubt, 1)} mm at station"
                f" {worst:.0f}, more than filler should close: that it fits there can't be told"
            )
        fits, there = ("it fits", "") if whole else ("the part that was seen fits", " there")
        if gap <= U:
            return f"{fits}: {home}, no gap{there} is larger than U"
        return (
            f"{fits}: {home}, up to {at_most(gap)} mm gape on its slopes, as planned: less "
            "of the clearance closes there than where the line is level"
        )
    said = f"{home}, the largest gap is {format_u(gap, U)} at station {at:.0f}"
    if gap <= check.filler:
        return f"{said}: filler may close that"
    return f"{said}: more than filler should close. {_instead(check)}{_second(check)}"


def _instead(check: CutCheck) -> str:
    """What is less work than a second cut, and leads over to that."""
    if _saved(check):
        return "A move of the piece saves it. Else a second cut: "
    left = float(_planed(check).gap.max())
    if _only_proud(check) or left > check.filler:
        return "Second cut: "
    return (
        f"Plane off only what is proud, to the line: then at most {at_most(left)} mm gape, and "
        "filler may close that. Else a second cut: "
    )


def _planed(check: CutCheck) -> Compared:
    """The edge as it stands when what is proud beyond U is planed off to the line."""
    found = check.found
    proud = found.deviation > 2.0 * found.u
    return replace(found, deviation=np.where(proud, 0.0, found.deviation))


def _second(check: CutCheck) -> str:
    """What a second cut does: planes off what is proud, or scribes the whole edge again."""
    found, edge = check.found, check.cut.edge
    most = format_mm(round_down_mm(float(found.second.max()), 0.1), 1)
    place = float(found.station[int(found.second.argmax())])
    what = (
        f"plane off the {edge} edge where it is proud"
        if _only_proud(check)
        else f"scribe the {edge} edge again along all of it"
    )
    said = f"{what}, up to {most} mm, most at station {place:.0f}, as second-cut.csv says"
    in_by = format_mm(found.short, 1)
    if float(in_by) == 0.0:
        return said
    return f"{said}; the whole piece then goes {in_by} mm further towards the {check.cut.name}"


def _only_proud(check: CutCheck) -> bool:
    """Whether no wood is missing anywhere, beyond U."""
    return bool((check.found.deviation >= -2.0 * check.found.u).all())


def _saved(check: CutCheck) -> bool:
    """Whether a move brings the largest gap to what filler closes."""
    return any(move is not None and move.gap <= check.filler for move in (check.shift, check.both))


def worst_places(check: CutCheck) -> list[tuple[float, float]]:
    """(station, deviation) of the places beyond U that stand out most, on either side."""
    found = check.found
    places: list[tuple[float, float]] = []
    for sign in (1.0, -1.0):
        away = sign * found.deviation
        stands = (away > 2.0 * found.u) & (away >= np.r_[-np.inf, away[:-1]])
        stands &= away >= np.r_[away[1:], -np.inf]
        named: list[float] = []
        for k in np.argsort(-away, kind="stable"):
            station = float(found.station[k])
            if stands[k] and all(abs(station - other) > _BETWEEN_MM for other in named):
                named.append(station)
                places.append((station, float(found.deviation[k])))
            if len(named) == _WORST:
                break
    return places


def _beyond(check: CutCheck) -> list[str]:
    """Where it is proud or short beyond U, and what to do about it."""
    found = check.found
    U = 2.0 * found.u
    worst = worst_places(check)
    apart = max(_APART_MM, 1.5 * float(np.median(np.diff(found.station))))
    said = []
    for words, which, sign, act in (
        ("proud", found.deviation > U, 1, _of_proud(check)),
        ("short", found.deviation < -U, -1, _of_short(check)),
    ):
        if which.any():
            most = " and ".join(
                f"{abs(deviation):.2f} mm at {station:.0f}"
                for station, deviation in worst
                if sign * deviation > 0.0
            )
            where = _joined(found.station[which], apart)
            said.append(f"{words} beyond U: stations {where}; most {most}{act}")
    return said


def _of_proud(check: CutCheck) -> str:
    if check.as_planned:
        return ""
    if check.gap[0] <= check.filler:
        return ". Plane that off to the line, or leave it and fill the gaps beside it"
    if _saved(check):
        return ". Nothing need come off where the move below is made"
    if _only_proud(check) or float(_planed(check).gap.max()) <= check.filler:
        return ". Plane that off to the line"
    return ". The second cut takes that off"


def _of_short(check: CutCheck) -> str:
    if check.as_planned:
        return ""
    if check.gap[0] <= check.filler:
        return ". Wood is missing there: fill it"
    if _saved(check):
        return ". Wood is missing there: make the move below, and fill what is left"
    if float(_planed(check).gap.max()) <= check.filler:
        return ". Wood is missing there: plane off what is proud and fill this"
    return ". Wood is missing there: scribe the whole edge again"


def _filler(check: CutCheck) -> list[str]:
    """Which gaps filler closes, and which it doesn't."""
    stretches = check.stretches
    if all(each.kind == "closed" for each in stretches):
        return []
    limit = format_mm(check.filler)
    said = []
    closes, not_closes = (_list(stretches, kind) for kind in ("filler", "open"))
    if closes:
        said.append(
            f"pushed home as it is, filler (up to {limit} mm) closes the gaps at stations {closes}"
        )
    if not_closes:
        said.append(f"pushed home as it is, filler doesn't close those at stations {not_closes}")
    return said


def _list(stretches: tuple[Stretch, ...], kind: str) -> str:
    return ", ".join(
        f"{each.start:.0f}-{each.stop:.0f} (up to {at_most(each.most)} mm)"
        if each.stop > each.start
        else f"{each.start:.0f} ({at_most(each.most)} mm)"
        for each in stretches
        if each.kind == kind
    )


def _joined(station: Array, apart: float) -> str:
    """Stations that follow each other, as stretches: 40-85, 200. apart: mm to the next one."""
    breaks = [0, *(np.flatnonzero(np.diff(station) > apart) + 1).tolist(), len(station)]
    parts = [station[first:last] for first, last in pairwise(breaks)]
    return ", ".join(
        f"{part[0]:.0f}" if len(part) == 1 else f"{part[0]:.0f}-{part[-1]:.0f}" for part in parts
    )
