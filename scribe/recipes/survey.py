"""`scribe survey`: the readings of a room -> the opening they make, and what follows from it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from scribe.build_plan import read_build
from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_bytes, write_together
from scribe.fit.opening.room_adjust import Adjusted, Checked, Mistake, adjust
from scribe.fit.opening.room_shape import Feature, features, limits_as_context
from scribe.opening import Opening
from scribe.output.opening.survey_report import Row, front_svg, in_the_way, survey_html
from scribe.quantity import format_mm, format_u
from scribe.recipes.sizes import Sized, size_room
from scribe.recipes.workshop import Worked, work_out
from scribe.room_covered import refuse_covered
from scribe.room_survey import RoomSurvey
from scribe.room_survey_file import KEYS, room_survey
from scribe.toml_file import read_toml
from scribe.toml_table import Table
from scribe.workshop import KEYS as WORKSHOP_KEYS
from scribe.workshop import read_workshop

REPORT = "survey.html"
_OPEN_MM = 60.0  # u of a corner beyond which nobody knows where it is
_PART_LEFT_OUT = 0.25  # of the readings: when more are wrong, none can be trusted


@dataclass(frozen=True)
class Surveyed:
    """A room solved. worked: what the workshop's tables ask for. sized: for the plan
    in [build], None without one.
    """

    survey: RoomSurvey
    adjusted: Adjusted
    features: tuple[Feature, ...]
    worked: Worked
    sized: Sized | None = None

    @property
    def opening(self) -> Opening:
        """As solved."""
        return self.adjusted.opening

    def files(self) -> dict[str, bytes]:
        """What is written, by name."""
        sized = {} if self.sized is None else self.sized.files()
        return {REPORT: self._report().encode("utf-8")} | sized | self.worked.files()

    def lines(self) -> list[str]:
        """For people at a terminal: what is out of true, and what goes in; the report has all."""
        said = [f"{self.survey.name}: {len(self.adjusted.checked)} readings solved together"]
        said += [mistake_words(each) for each in self.adjusted.mistakes]
        said += self._spread()
        if self.sized is None:
            said += self._told("size")
        said += self._told("out")
        said.append("The report has what is true as far as U tells, and what nobody measured.")
        lone = [each.reading.name for each in self.adjusted.checked if not each.sure]
        if lone:
            said.append(f"Nothing checks {', '.join(lone)}: read again what matters most.")
        sized = [] if self.sized is None else self.sized.lines()
        return said + sized + self.worked.lines()

    def _told(self, verdict: str) -> list[str]:
        return [f"  {f.name}: {f.words}" for f in self.features if f.verdict == verdict]

    def _spread(self) -> list[str]:
        if self.adjusted.spread == 1.0:
            return []
        words = (
            f"The readings scatter {self.adjusted.spread:.1f} times as much as their U says, and "
            "no single one is to blame: every U is larger by as much. Check the instruments' U."
        )
        return [words]

    def summary(self) -> dict[str, Any]:
        """For another program; lengths in mm, u95 with k = 2."""
        return {
            "name": self.survey.name,
            "features": [
                {"name": f.name, "mm": round(f.size.value, 2), "u95_mm": round(f.size.U, 2)}
                for f in self.features
            ],
            "readings": [
                {
                    "name": each.reading.name,
                    "reads_mm": each.reading.reads,
                    "too_much_mm": round(each.too_much, 2),
                    "u95_mm": round(2.0 * each.u, 2),
                    "share": round(each.share, 3),
                    "w": round(each.w, 2),
                    "smallest_noticed_mm": round(each.smallest, 1) if each.sure else None,
                }
                for each in self.adjusted.checked
            ],
            "left_out": [
                {
                    "name": each.reading.name,
                    "wrong_by_mm": round(each.blunder, 1),
                    "u95_mm": round(2.0 * each.u_blunder, 1),
                    "certain": len(mistake.suspects) == 1,
                }
                for mistake in self.adjusted.mistakes
                for each in mistake.suspects
            ],
            "alike": [list(pair) for pair in self.adjusted.alike],
            "spread": round(self.adjusted.spread, 2),
            "sizes": None if self.sized is None else self.sized.summary(),
        } | self.worked.summary()

    def _report(self) -> str:
        return survey_html(
            self.survey.name,
            [(f.name, f.words) for f in self.features if f.verdict != "open"],
            [
                f"{f.name} ({format_u(f.size.value, f.size.U)})"
                for f in self.features
                if f.verdict == "open"
            ],
            limits_as_context(self.opening),
            [_row(each) for each in self.adjusted.checked],
            [mistake_words(each) for each in self.adjusted.mistakes] + self._spread(),
            [*([] if self.sized is None else [self.sized.section()]), self.worked.section()],
            front_svg(self.opening),
            in_the_way(self.survey),
            self.adjusted.alike,
        )


def survey(path: Path) -> Surveyed:
    """Read a room's file and solve it. Refuses readings that contradict each other when nothing
    tells which is wrong ("survey-contradicts"), and too many wrong ones ("survey-many-wrong").
    """
    table = read_toml(path)
    taken, adjusted = _solved(table)
    plan = read_build(table.table("build")) if "build" in table else None
    sized = None if plan is None else size_room(taken, adjusted.opening, plan)
    built = None if sized is None else sized.built
    return Surveyed(
        taken,
        adjusted,
        features(adjusted.opening, sloping=taken.slopes is not None),
        work_out(read_workshop(table), adjusted.opening, built),
        sized,
    )


def solved_opening(path: Path) -> Opening:
    """The opening alone, with the refusals of `survey`; nothing is sized."""
    return _solved(read_toml(path))[1].opening


def _solved(table: Table) -> tuple[RoomSurvey, Adjusted]:
    table.allow(*KEYS, *WORKSHOP_KEYS, "build")
    taken = room_survey(table)
    refuse_covered(taken)
    adjusted = adjust(taken)
    _refuse_contradiction(adjusted, taken)
    _refuse_open(adjusted.opening, taken)
    return taken, adjusted


def write_survey(found: Surveyed, out: Path, *, force: bool = False) -> list[Path]:
    """The report and what comes with it, in a folder."""
    folder, files = ready_folder(out), found.files()
    refuse_existing([folder / name for name in files], force=force)
    return write_together(folder, files)


def write_form(path: Path, *, force: bool = False) -> Path:
    """The readings form, a PDF to print and fill in."""
    from scribe.output.opening.survey_form import form_pdf

    refuse_existing([path], force=force)
    ready_folder(path.parent)
    return write_bytes(path, form_pdf())


def survey_json(found: Surveyed, written: list[Path]) -> str:
    """What was found, for another program."""
    return json.dumps(found.summary() | {"files": [path.name for path in written]}, indent=2)


def mistake_words(mistake: Mistake) -> str:
    """What was left out and why, as one would tell it to a fitter."""
    first = mistake.suspects[0]
    if len(mistake.suspects) == 1:
        U = format_mm(2.0 * first.u_blunder, 0)
        return f"{_wrong_words(first)} for the others (U {U}): it was left out. Read it again."
    said = ", or ".join(_wrong_words(each) for each in mistake.suspects)
    return f"{said}: one of them is wrong, and which can't be told. All were left out: read again."


def _wrong_words(each: Checked) -> str:
    much = "too long" if each.blunder > 0 else "too short"
    if each.reading.by in ("level", "plumb bob"):
        much = "too much" if each.blunder > 0 else "too little"
    return f"{each.reading.name} is {format_mm(abs(each.blunder), 0)} mm {much}"


def _refuse_contradiction(adjusted: Adjusted, taken: RoomSurvey) -> None:
    if adjusted.undecided is not None:
        worst = adjusted.undecided.suspects[0]
        names = [each.reading.name for each in adjusted.left_out]
        raise ScribeError(
            "survey-contradicts",
            what=f"{', '.join(names[:-1])} and {names[-1]} contradict each other by about"
            f" {format_mm(abs(worst.blunder), 0)} mm, and nothing tells which is wrong",
            where=worst.reading.where,
            do="read them again, or take one more reading across the same place",
        )
    if len(adjusted.left_out) > _PART_LEFT_OUT * len(taken.readings):
        names = [_wrong_words(each) for each in adjusted.left_out]
        raise ScribeError(
            "survey-many-wrong",
            what=f"{len(names)} of {len(taken.readings)} readings don't agree with the others:"
            f" {'; '.join(names)}",
            where=str(taken.path),
            do="look whether left and right, or front and back, were mixed up, and read them again;"
            " where walls bow by more than usual, take plumb readings at three heights, or say how"
            " much (bow in [walls])",
        )


def _refuse_open(opening: Opening, taken: RoomSurvey) -> None:
    """Refuse a ceiling, or a wall, that the readings leave standing anywhere."""
    if float(np.sqrt(np.diag(opening.covariance)).max()) > _OPEN_MM:
        raise ScribeError(
            "survey-open",
            what="the readings don't say how high the ceiling is along all of its profile",
            where=str(taken.path),
            do="take heights near both its ends and on both sides of every break",
        )


def _row(each: Checked) -> Row:
    return Row(
        each.reading.name,
        format_u(each.reading.reads, 2.0 * each.u),
        format_mm(each.too_much, 1),
        format_mm(each.smallest, 0) if each.sure else "nothing checks it",
    )
