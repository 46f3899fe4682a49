"""The report of a room's survey: one HTML page that opens without a network.

In: words, and sections of HTML that others drew. The page's colours and classes are those of the
job's report.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.opening import Opening, Size
from scribe.output.cautions import CAUTIONS
from scribe.output.html import fill
from scribe.quantity import format_mm, format_u
from scribe.room_survey import Moulding, Obstacle, RoomSurvey

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Row:
    """A reading as the table shows it: what was read, what it's off by, what would be noticed."""

    name: str
    reads: str
    too_much: str
    smallest: str


def survey_html(
    title: str,
    features: Sequence[tuple[str, str]],
    unknown: Sequence[str],
    context: str,
    readings: Sequence[Row],
    left_out: Sequence[str],
    sections: Sequence[str],
    drawing: str,
    in_the_way: Sequence[str],
    alike: Sequence[tuple[str, str]],
) -> str:
    """features: (name, words). unknown: what the readings leave open. context: what is commonly
    allowed. sections: HTML set between the opening and its readings.
    """
    return fill(
        "survey.html",
        title=title,
        features=features,
        unknown=unknown,
        context=context,
        readings=readings,
        left_out=left_out,
        sections=sections,
        drawing=drawing,
        in_the_way=in_the_way,
        alike=[f"{one} and {other}" for one, other in alike],
        cautions=CAUTIONS,
    )


def front_svg(room: Opening) -> str:
    """Front and back plane of the opening with widths and heights, to scale; y runs down in SVG."""
    front, back = room.section(0.0), room.section(room.reference[2])
    low, high = np.min([front.min(0), back.min(0)], 0), np.max([front.max(0), back.max(0)], 0)
    letter = float(max(high - low)) / 36.0
    pad = 4.0 * letter
    size = high - low + 2.0 * pad

    def place(points: Array) -> str:
        return " ".join(f"{x - low[0] + pad:.1f},{high[1] + pad - y:.1f}" for x, y in points)

    def words(x: float, y: float, value: Size, turn: int) -> str:
        at = f"{x - low[0] + pad:.1f} {high[1] + pad - y:.1f}"
        return (
            f'<text transform="translate({at}) rotate({turn})" text-anchor="middle" '
            f'font-size="{letter:.1f}">{format_u(value.value, value.U)}</text>'
        )

    left, right = room.reference[0] * 0.08, room.reference[0] * 0.92
    top = float(min(room.ceiling_y(left, 0.0), room.ceiling_y(right, 0.0)))
    head = f'<svg viewBox="0 0 {size[0]:.1f} {size[1]:.1f}" role="img" style="max-height:70vh"'
    dashes = f'stroke-dasharray="{letter:.1f} {letter / 3:.1f}"'
    parts = [head + ' aria-label="Front plane of the opening">']
    for points, thick, more in ((back, letter / 10, dashes), (front, letter / 6, "")):
        drawn = f'<polygon points="{place(points)}" fill="none" stroke="#000"'
        parts.append(f'{drawn} stroke-width="{thick:.1f}" {more}/>')
    parts += [
        words(room.reference[0] / 2, y + letter, room.width(y, 0.0), 0)
        for y in (0.06 * top, 0.5 * top, 0.9 * top)
    ]
    parts += [words(x, top * 0.3, room.height(x, 0.0), -90) for x in (left, right)]
    return "".join(parts) + "</svg>"


def in_the_way(survey: RoomSurvey) -> list[str]:
    """Skirtings, cornices and obstacles in words, each size with its U."""
    return [
        *(_moulding(each) for each in survey.mouldings),
        *(_obstacle(each) for each in survey.obstacles),
    ]


def _moulding(each: Moulding) -> str:
    size = f"{format_u(each.tall, each.U)} tall, {format_u(each.out, each.U)} out"
    return f"{each.kind} on the {', '.join(each.walls)} wall: {size}"


def _obstacle(each: Obstacle) -> str:
    along = "front" if each.on in ("left", "right") else "left"
    across = "from the front" if each.on in ("floor", "ceiling") else "above the floor"
    out = "" if each.out is None else f", stands out {format_u(each.out, each.U)}"
    return (
        f"{each.name} on the {each.on}: {format_u(each.along, each.U)} from the {along}, "
        f"{format_u(each.across, each.U)} {across}; {format_mm(each.size[0])} x "
        f"{format_mm(each.size[1])} mm{out}"
    )
