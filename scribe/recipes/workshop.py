"""The workshop's answers for a room: angles, what to saw from what, and which shelves sag."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scribe.cutting import CuttingPlan, Part
from scribe.errors import ScribeError
from scribe.fit.opening.room_parts import carcass_parts, strip_parts
from scribe.fit.workshop.angles import BEYOND_THE_TILT, cutting_words, sense, setting_text
from scribe.fit.workshop.boards import cut_boards
from scribe.fit.workshop.mouldings import moulding_ends
from scribe.fit.workshop.sawn_ends import sawn_ends
from scribe.fit.workshop.sheets import cut_sheets, strips_of_plank
from scribe.fit.workshop.stiffness import sagging
from scribe.member import Sagging
from scribe.opening import Opening
from scribe.output.opening.cut_list import cut_list_csv
from scribe.output.opening.workshop_section import (
    EndRow,
    MouldingRow,
    cure_words,
    load_words,
    range_words,
    sources,
    workshop_section,
)  # fmt: skip
from scribe.quantity import format_mm
from scribe.saw import MouldingEnd, SawnEnd
from scribe.sizes import Built
from scribe.workshop import Plank, Workshop

_SEE_ANGLES = "under Angles the report says how each is made, or measured again."
_SQUARE_DEG = 0.05  # an angle below this is square on any saw's scale, once U is allowed for


@dataclass(frozen=True)
class Worked:
    """What was worked out. parts: of the file and those that sizes added, in this order."""

    workshop: Workshop
    parts: tuple[Part, ...]
    ends: tuple[SawnEnd, ...]
    plans: tuple[CuttingPlan, ...]
    sags: tuple[Sagging, ...]
    mouldings: tuple[MouldingEnd, ...] = ()

    def section(self) -> str:
        """For the report: sections of HTML."""
        saw = self.workshop.saw
        return workshop_section(
            [self._row(end) for end in self.ends if not _square(end)],
            self._beyond(),
            BEYOND_THE_TILT if any("stand the board" in words for words in self._beyond()) else "",
            self.workshop.thickness,
            saw.kerf,
            self.parts,
            self.plans,
            [_plank_words(plank, saw.kerf) for plank in self.workshop.planks],
            self.sags,
            [self._moulding_row(end) for end in self.mouldings],
        )

    def files(self) -> dict[str, bytes]:
        """What is written beside the report, by name; nothing where there is nothing to saw."""
        return {"cut-list.csv": cut_list_csv(self.parts).encode()} if self.parts else {}

    def lines(self) -> list[str]:
        """For people at a terminal: what is beyond the saw, what to buy, what sags."""
        odd = sum(len(names) for names in self._beyond().values())
        said = (
            [f"{odd} sawn ends are at the saw's limit or beyond it: {_SEE_ANGLES}"] if odd else []
        )
        said += [f"{plan.stock}: {plan.used} to saw up. {plan.proof}" for plan in self.plans]
        said += [_plank_words(plank, self.workshop.saw.kerf) for plank in self.workshop.planks]
        said += [
            f"{sag.member.name}: sags {range_words(sag.lasting)} mm after years, "
            f"{format_mm(sag.allowed, 1)} allowed"
            + ("; the report has cures" if cure_words(sag) else "")
            for sag in self.sags
        ]
        said += [
            f"{end.name}: lying flat, mitre {setting_text(end.mitre_deg, end.mitre_u_deg)} and "
            f"bevel {setting_text(end.bevel_deg, end.bevel_u_deg)} degrees, longer at {end.longer}"
            for end in self.mouldings
        ]
        if self.sags:
            said.append("How far shelves sag is not structural advice.")
        return said

    def summary(self) -> dict[str, Any]:
        """For another program."""
        return {
            "sawn_ends": [
                {
                    "name": end.name,
                    "mitre_deg": round(end.mitre_deg, 3),
                    "mitre_u95_deg": round(2 * end.mitre_u_deg, 3),
                    "bevel_deg": round(end.bevel_deg, 3),
                    "bevel_u95_deg": round(2 * end.bevel_u_deg, 3),
                    "said": cutting_words(end, self.workshop.saw),
                }
                for end in self.ends
            ],
            "mouldings": [
                {
                    "name": end.name,
                    "corner_deg": round(end.corner_deg, 3),
                    "corner_u95_deg": round(2 * end.corner_u_deg, 3),
                    "mitre_deg": round(end.mitre_deg, 3),
                    "mitre_u95_deg": round(2 * end.mitre_u_deg, 3),
                    "bevel_deg": round(end.bevel_deg, 3),
                    "bevel_u95_deg": round(2 * end.bevel_u_deg, 3),
                    "held_as_it_hangs_mitre_deg": round(end.hung_deg, 3),
                    "held_as_it_hangs_mitre_u95_deg": round(2 * end.hung_u_deg, 3),
                    "longer_at": end.longer,
                }
                for end in self.mouldings
            ],
            "stock": [
                {"name": plan.stock, "used": plan.used, "proven": plan.proven, "said": plan.proof}
                for plan in self.plans
            ],
            "members": [_member_summary(sag) for sag in self.sags],
            "materials": sources(self.sags),
        }

    def _beyond(self) -> dict[str, list[str]]:
        """What to do beyond the saw's limits, and the ends it concerns."""
        found: dict[str, list[str]] = {}
        for end in self.ends:
            words = " ".join(cutting_words(end, self.workshop.saw))
            if words:
                found.setdefault(words, []).append(end.name)
        return found

    def _moulding_row(self, end: MouldingEnd) -> MouldingRow:
        saw = self.workshop.saw
        return MouldingRow(
            end.name,
            setting_text(end.corner_deg, end.corner_u_deg),
            setting_text(end.mitre_deg, end.mitre_u_deg),
            setting_text(end.bevel_deg, end.bevel_u_deg),
            end.longer,
            setting_text(end.hung_deg, end.hung_u_deg),
            flat=end.bevel_deg <= saw.tilt_deg and end.mitre_deg <= saw.mitre_deg,
            hung=end.hung_deg <= saw.mitre_deg,
        )

    def _row(self, end: SawnEnd) -> EndRow:
        return EndRow(
            end.name,
            setting_text(end.mitre_deg, end.mitre_u_deg),
            setting_text(end.bevel_deg, end.bevel_u_deg),
            sense(end),
            bool(cutting_words(end, self.workshop.saw)),
        )


def work_out(
    workshop: Workshop, opening: Opening | None = None, built: Built | None = None
) -> Worked:
    """Everything the workshop's tables ask for; angles only of a solved opening.

    built: what goes into the room, whose carcasses and strips are sawn with the file's parts.
    """
    parts = (*workshop.parts, *(_room_parts(workshop, built) if built else ()))
    return Worked(
        workshop=workshop,
        parts=parts,
        ends=() if opening is None else sawn_ends(opening, workshop.thickness),
        plans=_plans(workshop, parts),
        sags=tuple(sagging(member) for member in workshop.members),
        mouldings=() if opening is None else moulding_ends(opening, workshop.mouldings),
    )


def _room_parts(workshop: Workshop, built: Built) -> tuple[Part, ...]:
    """Of those things for which the file says what they are sawn from."""
    parts: tuple[Part, ...] = ()
    if workshop.carcasses is not None:
        parts += carcass_parts(built.carcasses, workshop.carcasses, workshop.thickness)
    if workshop.strips is not None:
        parts += strip_parts(built.strips, workshop.strips)
    return parts


def _plans(workshop: Workshop, parts: tuple[Part, ...]) -> tuple[CuttingPlan, ...]:
    """One for each stock that parts come from, in the order of the parts."""
    plans = []
    for stock in dict.fromkeys(part.stock for part in parts):
        own = [(place, part) for place, part in enumerate(parts) if part.stock == stock]
        sheets = [sheet for sheet in workshop.sheets if sheet.name == stock]
        boards = [board for board in workshop.boards if board.name == stock]
        if bool(sheets) == bool(boards):
            raise ScribeError(
                "stock-unknown",
                what="it is the name of no stock, or of sheets and boards alike",
                where=f"stock {stock}",
                do="write [[sheet]] or [[board]] with that name, and with its size",
            )
        kerf = workshop.saw.kerf
        plans.append(cut_sheets(own, sheets, kerf) if sheets else cut_boards(own, boards, kerf))
    return tuple(plans)


def _square(end: SawnEnd) -> bool:
    angles = ((end.mitre_deg, end.mitre_u_deg), (end.bevel_deg, end.bevel_u_deg))
    return all(abs(value) <= max(2 * u, _SQUARE_DEG) for value, u in angles)


def _plank_words(plank: Plank, kerf: float) -> str:
    count, left = strips_of_plank(plank.width, plank.strip, kerf, plank.trim)
    return (
        f"{plank.name}: {format_mm(plank.width)} mm gives {count} strips of "
        f"{format_mm(plank.strip)} mm, and {format_mm(left)} mm are left."
    )


def _member_summary(sag: Sagging) -> dict[str, Any]:
    return {
        "name": sag.member.name,
        "what": load_words(sag),
        "first_mm": [round(e, 2) for e in (sag.first.least, sag.first.typical, sag.first.most)],
        "lasting_mm": [
            round(e, 2) for e in (sag.lasting.least, sag.lasting.typical, sag.lasting.most)
        ],
        "allowed_mm": round(sag.allowed, 2),
        "shear_share": round(sag.shear, 3),
        "verdict": sag.verdict,
        "said": cure_words(sag),
    }
