"""`scribe read`: readings taken by hand, or a drawing -> outline."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_text
from scribe.outline import Outline
from scribe.outline_file import outline_csv, outline_json
from scribe.recipes.quantities import size_words, sizes_json
from scribe.source import READ_OPTIONS, ReadSource

if TYPE_CHECKING:
    from scribe.capture.numbers.readings import Instrument

DRAWN_U95 = 0.1  # mm, of a drawing whose maker says nothing (common practice, no source)
_NEST_MM = 200.0  # apart: such readings have room for three more, 50 mm apart


def read(source: ReadSource) -> Outline:
    """The outline in the frame it was taken in. Refuses options that don't belong to its form."""
    for option, forms in READ_OPTIONS.items():
        if getattr(source, option) is not None and source.form not in forms:
            what = f"{option} says nothing about {source.form}"
            raise _option(source, what, f"leave it out; it belongs to {', '.join(forms)}")
    if source.u95 == 0.0:
        raise _option(source, "u95 is 0, and nothing is exact", "give the U that you trust it to")
    if source.form == "drawing":
        from scribe.capture.numbers.drawing import read_drawing

        return read_drawing(
            source.path,
            source.building,
            choose=source.choose,
            u95=DRAWN_U95 if source.u95 is None else source.u95,
            unit_mm=source.unit,
        )
    from scribe.capture.numbers.readings import outline_from
    from scribe.capture.numbers.readings_table import read_table

    table = read_table(source.path)
    return outline_from(table, source.form, source.building, _instrument(source))


def _instrument(source: ReadSource) -> Instrument:
    from scribe.capture.numbers.readings import Instrument

    return Instrument(
        source.u95, source.base, source.third, source.closing, source.line, source.surface
    )


def _option(source: ReadSource, what: str, do: str) -> ScribeError:
    return ScribeError("read-option", what=what, where=str(source.path), do=do)


def write_read(outline: Outline, out: Path, *, force: bool) -> list[Path]:
    """Write outline.csv and outline.json into the folder."""
    ready_folder(out)
    names = [out / "outline.csv", out / "outline.json"]
    refuse_existing(names, force=force)
    return [
        write_text(names[0], outline_csv(outline)),
        write_text(names[1], outline_json(outline)),
    ]


def result_lines(outline: Outline) -> list[str]:
    """What the fitter wants to know first."""
    return [
        f"outline: {size_words(outline)}",
        f"U (k = 2): at best {outline.U.min():.2f} mm, at worst {outline.U.max():.2f} mm",
    ]


def advice(source: ReadSource, outline: Outline) -> tuple[str, ...]:
    """A reading that doesn't fit; and what would narrow U most, an eye for the wall where readings
    leave open what it is.
    """
    if source.form == "drawing":
        return ()
    from scribe.capture.numbers.readings import doubt, readings_of
    from scribe.capture.numbers.readings_table import read_table

    table, instrument = read_table(source.path), _instrument(source)
    odd, unseen = doubt(table, source.form, instrument), ""
    if source.surface is None:
        points = readings_of(table, source.form, instrument).points
        apart = float(np.hypot(*np.diff(points, axis=0).T).min())
        # A level that is walked isn't laid over 50 mm.
        unseen = _unseen(outline, nest=source.form != "level" and apart >= _NEST_MM)
    return tuple(f"{words}." for words in (odd, unseen) if words)


def _unseen(outline: Outline, *, nest: bool) -> str:
    """What would tell more of the surface between the readings; "" where they leave little open.

    nest: there is room for readings close together.
    """
    parts = [part for name, part in outline.budget.items() if name.startswith("between")]
    unseen = np.hypot.reduce(parts)
    worst = int(unseen.argmax())
    if 2.0 * unseen[worst] ** 2 < outline.u[worst] ** 2:
        return ""
    ways = ["say what the surface looks like (flat, wavy or rough)"]
    if nest:
        ways.append(
            "read three places more, 50 mm apart, between two of them (they tell how rough it is)"
        )
    words = f"{2.0 * unseen[worst]:.1f} mm of U at worst is what may stand out between the readings"
    return f"{words}: {', '.join(ways)}, or read closer together"


def read_json(outline: Outline, written: list[Path], said: Sequence[str]) -> str:
    """The result for another program. said: the advice."""
    return json.dumps(
        {
            "points": len(outline),
            **sizes_json(outline),
            "u95_mm": {"best": float(outline.U.min()), "worst": float(outline.U.max())},
            "advice": list(said),
            "written": [str(path) for path in written],
        },
        indent=2,
    )
