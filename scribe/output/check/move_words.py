"""Whether a move of the piece saves its cut, in sentences that name both ends and the building."""

from __future__ import annotations

from scribe.cut_check import CutCheck, Move
from scribe.quantity import format_mm, round_up_mm


def move_lines(check: CutCheck) -> list[str]:
    """Whether a shift, or a shift and a turn, saves it."""
    if check.shift is None or check.both is None:
        return []
    gap, U, _ = check.gap
    saved = check.filler if gap > check.filler else U
    if not check.found.laid.along:
        word = "saves it" if check.both.gap <= saved else "doesn't save it"
        said = (
            f"a shift {word}: shifted along and turned until it lies best, nothing gapes by more "
            f"than {at_most(check.both.gap)} mm (+/- {U:.2f}); where along the building it lies "
            "now, these points don't tell"
        )
        return [said, _assumed(check)]
    for move, what in ((check.shift, "a shift saves"), (check.both, "a shift and a turn save")):
        words = _words(check, move)
        if move.gap <= saved and words:
            said = (
                f"{what if move.along else 'a turn saves'} it: {words}, nothing gapes by more than "
                f"{at_most(move.gap)} mm (+/- {U:.2f}){_into(check, move)}"
            )
            return [said, _assumed(check)]
    words = _words(check, check.both)
    if not words or check.both.gap > gap - 0.05:
        return ["no shift or turn makes the largest gap less", _assumed(check)]
    said = (
        f"no shift saves it: at best, {words}, {at_most(check.both.gap)} mm (+/- {U:.2f}) still "
        f"gape at {check.both.at:.0f}{_into(check, check.both)}"
    )
    return [said, _assumed(check)]


def _into(check: CutCheck, move: Move) -> str:
    """How far the piece goes in with a shift alone, where it is known how far in it was."""
    if not check.found.laid.across or move.turn or float(format_mm(move.into)) == 0.0:
        return ""
    where = f"{_nearer(move.into)} the {check.cut.name} than {_reference(check)}"
    return f"; the piece then lies {where}"


def _words(check: CutCheck, move: Move) -> str:
    """Where to push it, in words: "pushed 1.4 mm towards the left end"."""
    end, laid = check.cut.from_end, check.found.laid
    parts = []
    if move.along:
        towards = "away from" if move.along > 0.0 else "towards"
        parts.append(f"pushed {format_mm(abs(move.along), 1)} mm {towards} the {end} end")
    if move.turn and laid.across:
        first, last = move.into - move.turn / 2.0, move.into + move.turn / 2.0
        both = f"its {end} end {_nearer(first)} and its {_opposite(end)} {_nearer(last)}"
        parts.append(f"{both} the {check.cut.name} than {_reference(check)}")
    elif move.turn:
        parts.append("turned until it lies best")
    return ", ".join(parts)


def _nearer(by: float) -> str:
    """By how much an end goes towards the building."""
    return f"{format_mm(abs(by), 1)} mm {'further from' if by <= -0.05 else 'nearer to'}"


def _reference(check: CutCheck) -> str:
    return "it stands now" if check.found.laid.fitted else "planned"


def _opposite(end: str) -> str:
    """The other end of an edge by its name; of one that the fitter named, as far as that tells."""
    for one, other in (("left", "right"), ("bottom", "top")):
        if end in (one, other):
            return f"{other if end == one else one} end"
    return f"end away from the {end}"


def _assumed(check: CutCheck) -> str:
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
        f"assumed for that: {rest}; it may go along by {along} mm, and one end may go {turn} mm "
        f"nearer to the {check.cut.name} than the other"
    )


def at_most(gap: float) -> str:
    """The gap in tenths, rounded up; a hundredth more than a tenth is no gap that anybody sees."""
    return f"{round_up_mm(gap - 0.01, 0.1):.1f}"
