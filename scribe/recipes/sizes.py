"""The sizes of a room and of what its file says is to be built."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

from scribe.build_plan import BuildPlan
from scribe.fit.opening.carcasses import build
from scribe.fit.opening.obstacles import solids
from scribe.fit.opening.opening_sizes import opening_sizes
from scribe.opening import Opening, Size
from scribe.output.opening.job_toml import job_toml
from scribe.output.opening.size_words import carcass_row, opening_rows, strip_row, warnings
from scribe.output.opening.sizes_section import sizes_section
from scribe.output.opening.wall_sheet import wall_sheet_pdf
from scribe.room_survey import RoomSurvey
from scribe.sizes import Built, OpeningSizes

_FOR_THE_REPORT = ("widest", "highest")  # nothing has to go in there
WALL_SHEET, JOB = "wall-sheet.pdf", "job.toml"


@dataclass(frozen=True)
class Sized:
    """A room's sizes for a plan."""

    room: Opening
    plan: BuildPlan
    sizes: OpeningSizes
    built: Built

    def section(self) -> str:
        """For the report: sections of HTML."""
        return sizes_section(self.room, self.sizes, self.plan, self.built)

    def files(self) -> dict[str, bytes]:
        """The wall sheet, and the job of the strips where there are any."""
        name = self.room.name
        files = {WALL_SHEET: wall_sheet_pdf(name, self.sizes, self.plan, self.built)}
        if self.built.strips:
            files[JOB] = job_toml(name, self.plan, self.built.strips).encode()
        return files

    def lines(self) -> list[str]:
        """For people at a terminal."""
        rows = [
            f"{name}: {words}"
            for name, words in opening_rows(self.sizes)
            if name not in _FOR_THE_REPORT
        ]
        carcasses: dict[str, list[str]] = {}
        for name, size, _ in map(carcass_row, self.built.carcasses):
            carcasses.setdefault(size, []).append(name)
        rows += [f"{', '.join(names)}: {size} mm" for size, names in carcasses.items()]
        rows += [
            f"{name}: buy {blank} mm, face {face}"
            for name, blank, face, _ in map(strip_row, self.built.strips)
        ]
        return rows + warnings(self.built, self.plan)

    def summary(self) -> dict[str, Any]:
        """For another program; mm, u95 with k = 2."""
        box = self.sizes.box
        return {
            "rectangle": {
                "width": _json(self.sizes.rectangle.width),
                "height": _json(self.sizes.rectangle.height),
            },
            "box": None
            if box is None
            else {"width": _json(box.width), "height": _json(box.height), "depth_mm": box.depth},
            "carcasses": [
                {
                    "name": each.name,
                    "width_mm": each.width,
                    "height_mm": each.height,
                    "depth_mm": each.depth,
                    "spare_standing_up": _json(each.standing.spare),
                }
                for each in self.built.carcasses
            ],
            "strips": [
                {
                    "name": each.name,
                    "length_mm": each.length,
                    "buy_mm": each.buy,
                    "narrowest": _json(each.narrowest),
                    "widest": _json(each.widest),
                    "allowance_mm": round(each.allowance, 2),
                    "beyond_reach": each.beyond_reach,
                }
                for each in self.built.strips
            ],
            "warnings": warnings(self.built, self.plan),
        }


def size_room(survey: RoomSurvey, room: Opening, plan: BuildPlan) -> Sized:
    """Everything a plan asks for, in an opening as solved from a survey."""
    in_the_way = partial(solids, survey)
    return Sized(
        room,
        plan,
        opening_sizes(room, plan.depth, in_the_way, plan.room_height),
        build(room, plan, in_the_way),
    )


def _json(size: Size) -> dict[str, float]:
    return {"mm": round(size.value, 2), "u95_mm": round(size.U, 2)}
