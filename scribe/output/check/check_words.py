"""What a check found, as sentences, and as a table for a spreadsheet."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.cut_check import CutCheck, Move, Stretch
from scribe.piece import Piece
from scribe.quantity import format_mm, format_u, round_down_mm, round_up_mm

Array = npt.NDArray[np.float64]

_TELLS_MM = 1.0  # a larger U is no ground to say that a piece fits (our choice)
WHOLE = 0.95  # of the cut seen: below, nobody can say that it fits
_APART_MM = 12.0  # stations further apart don't make one stretch
_WORST = 2  # places named on either side of the line
_BETWEEN_MM = 40.0  # two places that are named lie further apart


def check_lines(check: CutCheck) -> list[str]:
    """Everything that was found, the verdict among the first."""
    cut, found = check.cut, check.found
    low, high = float(found.deviation.min()), float(found.deviation.max())
    where = f"{cut.edge} edge to {cut.name}, stations from the {cut.from_end} end"
    said = [
        f"{where}, {100 * found.coverage:.0f} % of the cut seen",
        f"how the edge was laid on the plan: {found.laid.words}",
        f"deviation {low:+.2f} to {high:+.2f} mm (proud +), U {2 * np.median(found.u):.2f} mm",
        *_beyond(check),
        verdict(check),
        *_filler(check),
        *_moves(check),
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


def verdict(check: CutCheck) -> str:
    """Does it fit, pushed home as it is?"""
    gap, U, at = check.gap
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
            return f"{fits}: pushed home, no gap{there} is larger than U"
        return (
            f"{fits}: pushed home, up to {_at_most(gap)} mm gape on its slopes, as planned: less "
            "of the clearance closes there than where the line is level"
        )
    said = f"pushed home, the largest gap is {format_u(gap, U)} at station {at:.0f}"
    if gap <= check.filler:
        return f"{said}: filler may close that"
    most = format_mm(round_down_mm(float(check.found.second.max()), 0.1), 1)
    place = float(check.found.station[int(check.found.second.argmax())])
    other = "A move of the piece saves it. Else a second cut: " if _saved(check) else "Second cut: "
    return (
        f"{said}: more than filler should close. {other}take off up to {most} mm, most at "
        f"{place:.0f}, as second-cut.csv says; the piece moves in by "
        f"{format_mm(check.found.short, 1)} mm"
    )


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


def move_words(check: CutCheck, move: Move) -> str:
    """Where to push it, in words: "pushed 1.4 mm towards the left end"."""
    end, laid = check.cut.from_end, check.found.laid
    parts = []
    if move.along:
        towards = "away from" if move.along > 0.0 else "towards"
        parts.append(f"pushed {format_mm(abs(move.along), 1)} mm {towards} the {end} end")
    if move.turn and laid.across:
        which = _opposite(end) if move.turn > 0.0 else f"{end} end"
        parts.append(f"its {which} {format_mm(abs(move.turn), 1)} mm further in")
    elif move.turn:
        parts.append("turned until it lies best")
    return ", ".join(parts)


def _opposite(end: str) -> str:
    """The other end of an edge by its name; of one that the fitter named, as far as that tells."""
    for one, other in (("left", "right"), ("bottom", "top")):
        if end in (one, other):
            return f"{other if end == one else one} end"
    return f"end away from the {end}"


def assumed(check: CutCheck) -> str:
    """What the words on a shift take for granted."""
    others = ", ".join(check.held)
    along, turn = (format_mm(each) for each in check.limits)
    if not (check.found.laid.along and check.found.laid.across):
        rest = "the rest of the piece lets it lie so, only this edge was looked at"
    elif check.held:
        rest = (
            f"the other scribed edges ({others}) are cut to their lines, and their gaps may close, "
            "or open to what filler closes or to their clearance"
        )
    else:
        rest = "no other edge of the piece is held"
    if check.sealed:
        rest += f"; no push narrows the joint that a seal closes ({', '.join(check.sealed)})"
    return (
        f"assumed for that: {rest}; it may go along by {along} mm, and one end in against the "
        f"other by {turn} mm"
    )


def check_csv(check: CutCheck) -> str:
    """station_mm, deviation_mm, u95_mm, gap_mm, remove_mm: remove rounded down."""
    rows = ["station_mm,deviation_mm,u95_mm,gap_mm,remove_mm"]
    found = check.found
    for row in zip(found.station, found.deviation, 2 * found.u, found.gap, found.second,
                   strict=True):  # fmt: skip
        station, deviation, u95, gap, remove = (float(each) for each in row)
        rows.append(
            f"{station:.1f},{deviation:.3f},{u95:.3f},{gap:.3f},"
            f"{round_down_mm(max(remove, 0.0), 0.01):.2f}"
        )
    return "\n".join(rows) + "\n"


def _beyond(check: CutCheck) -> list[str]:
    found = check.found
    U = 2.0 * found.u
    worst = worst_places(check)
    apart = max(_APART_MM, 1.5 * float(np.median(np.diff(found.station))))
    said = []
    for words, which, sign in (
        ("proud", found.deviation > U, 1),
        ("short", found.deviation < -U, -1),
    ):
        if which.any():
            most = ", ".join(
                f"{deviation:+.2f} mm at {station:.0f}"
                for station, deviation in worst
                if sign * deviation > 0.0
            )
            said.append(
                f"{words} beyond U: stations {_joined(found.station[which], apart)}; most {most}"
            )
    return said


def _filler(check: CutCheck) -> list[str]:
    """Which gaps filler closes, and which it doesn't."""
    stretches = check.stretches
    if all(each.kind == "closed" for each in stretches):
        return []
    limit = format_mm(check.filler)
    said = []
    closes, not_closes = (_list(stretches, kind) for kind in ("filler", "open"))
    if closes:
        said.append(f"pushed home as it is, filler (up to {limit} mm) closes {closes}")
    if not_closes:
        said.append(f"pushed home as it is, filler doesn't close {not_closes}")
    return said


def _list(stretches: tuple[Stretch, ...], kind: str) -> str:
    return ", ".join(
        f"{each.start:.0f}-{each.stop:.0f} (up to {_at_most(each.most)} mm)"
        if each.stop > each.start
        else f"{each.start:.0f} ({_at_most(each.most)} mm)"
        for each in stretches
        if each.kind == kind
    )


def _moves(check: CutCheck) -> list[str]:
    """Whether a shift, or a shift and a turn, saves it."""
    if check.shift is None or check.both is None:
        return []
    gap, U, _ = check.gap
    saved = check.filler if gap > check.filler else U
    if not check.found.laid.along:
        word = "saves it" if check.both.gap <= saved else "doesn't save it"
        said = (
            f"a shift {word}: shifted along and turned until it lies best, nothing gapes by more "
            f"than {_at_most(check.both.gap)} mm (+/- {U:.2f}); where along the building it lies "
            "now, these points don't tell"
        )
        return [said, assumed(check)]
    for move, what in ((check.shift, "a shift saves"), (check.both, "a shift and a turn save")):
        words = move_words(check, move)
        if move.gap <= saved and words:
            said = (
                f"{what if move.along else 'a turn saves'} it: {words}, nothing gapes by more than "
                f"{_at_most(move.gap)} mm (+/- {U:.2f}){_into(check, move)}"
            )
            return [said, assumed(check)]
    words = move_words(check, check.both)
    if not words or check.both.gap > gap - 0.05:
        return ["no shift or turn makes the largest gap less", assumed(check)]
    said = (
        f"no shift saves it: at best, {words}, {_at_most(check.both.gap)} mm (+/- {U:.2f}) still "
        f"gape at {check.both.at:.0f}{_into(check, check.both)}"
    )
    return [said, assumed(check)]


def _into(check: CutCheck, move: Move) -> str:
    """How far the piece goes in with that, where it is known how far in it was."""
    into = format_mm(move.into)
    if not check.found.laid.across or float(into) == 0.0:
        return ""
    way = "in" if move.into > 0.0 else "out"
    what = "the middle of its edge" if move.turn else "the piece"
    return f"; {what} then lies {into.lstrip('-')} mm further {way} than planned"


def _at_most(gap: float) -> str:
    return f"{round_up_mm(gap, 0.1):.1f}"


def _joined(station: Array, apart: float) -> str:
    """Stations that follow each other, as stretches: 40-85, 200. apart: mm to the next one."""
    breaks = [0, *(np.flatnonzero(np.diff(station) > apart) + 1).tolist(), len(station)]
    parts = [station[first:last] for first, last in pairwise(breaks)]
    return ", ".join(
        f"{part[0]:.0f}" if len(part) == 1 else f"{part[0]:.0f}-{part[-1]:.0f}" for part in parts
    )
