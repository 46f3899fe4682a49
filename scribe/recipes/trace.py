"""Photo -> outline: decode, orient, trace, and say how sure it is."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from scribe.budget import entries, in_words
from scribe.errors import ScribeError
from scribe.facing import axis_facing, side_facing
from scribe.files import ready_folder, refuse_existing, write_together
from scribe.outline import Outline
from scribe.outline_file import outline_csv, outline_json
from scribe.places import Words, said
from scribe.quantity import format_usual_and_worst
from scribe.recipes.advice import Taken, acts_for_many, acts_for_photo, advice
from scribe.recipes.height import known_height
from scribe.recipes.look import look, refuse_other_sheets, refuse_same_files
from scribe.recipes.quantities import bow, chord
from scribe.recipes.run import overlays_of, shows_strips, trace_strips
from scribe.recipes.scale import refuse_card_traced, with_scale
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.photo_view import PhotoView

Progress = Callable[[str], None]
Placed = Callable[[Sequence["PhotoView"]], None]


@dataclass(frozen=True)
class Traced:
    """facts: name -> words, for other programs; advice: sentences; overlays: a PNG for
    each photo. views: of the photos, on the outline's plane. assumes: what U takes for granted
    that nothing shows, as sentences without their last stop.
    """

    outline: Outline
    facts: Mapping[str, str]
    advice: tuple[str, ...]
    overlays: tuple[bytes, ...]
    views: tuple[PhotoView, ...]
    assumes: tuple[str, ...] = ()

    def told(self) -> dict[str, str]:
        """The facts, for people."""
        from scribe.output.fact_words import told

        return told(self.facts)

    def result_lines(self) -> list[str]:
        """What the fitter wants to know first."""
        shape, whole = self.outline.shape_alone(), self.outline
        length, bent = chord(whole), bow(whole)
        return [
            f"outline: {length} from its first traced point to its last, bow {bent}",
            f"U (k = 2) of its shape: {u_words(shape)}",
            *self.assumes,
            f"U of its shape is made of {in_words(entries(shape))}",
            f"U (k = 2) of its place on the sheet: {u_words(whole)}",
        ]

    def in_words(self, words: Words) -> Traced:
        """With its advice and what it assumes in the words of whoever is told."""
        return replace(
            self,
            advice=tuple(said(each, words) for each in self.advice),
            assumes=tuple(said(each, words) for each in self.assumes),
        )

    def summary(self) -> dict[str, Any]:
        """The key figures for another program; U is with k = 2."""
        shape = self.outline.shape_alone()
        return {
            "points": len(self.outline),
            "chord_mm": chord(self.outline).as_json(),
            "bow_mm": bow(self.outline).as_json(),
            "u95_mm": _spread(self.outline.U),
            "shape_u95_mm": _spread(shape.U),
            "bridged_points": int((~self.outline.measured).sum()),
            "budget": _budget_json(self.outline),
            "shape_budget": _budget_json(shape),
            "facts": dict(self.facts),
            "advice": list(self.advice),
            "assumes": list(self.assumes),
        }


def _spread(values: npt.NDArray[np.float64]) -> dict[str, float]:
    return {
        "median": round(float(np.median(values)), 4),
        "worst": round(float(values.max()), 4),
    }


def _budget_json(outline: Outline) -> list[dict[str, str | float]]:
    """The rows of the budget, the largest share at the worst point first; u with k = 1."""
    return [
        {
            "name": row.name,
            "kind": row.kind,
            "u_median_mm": round(row.u_median, 4),
            "share_median_percent": round(row.share_median, 1),
            "u_worst_mm": round(row.u_worst, 4),
            "share_worst_percent": round(row.share_worst, 1),
        }
        for row in entries(outline)
    ]


def trace(
    source: PhotoSource,
    progress: Progress = lambda _: None,
    *,
    certain: bool = False,
    placed: Placed = lambda _: None,
) -> Traced:
    """Trace one photo, or several of one thing on one sheet, and put them together.

    certain: nobody had to choose what kind of thing the photo shows. placed: told the photos'
    views, about where the outline must be, before anything is traced in them. Refuses what can't
    be measured, with the reason.
    """
    from scribe.capture.overlay import draw_overlay
    from scribe.capture.several import merged

    if not source.photos:
        raise ScribeError(
            "no-photo",
            what="there is no photo to trace",
            where="photos",
            do="give a photo that shows the outline and the sheet",
        )
    refuse_same_files(source.photos)
    source, card = with_scale(source)
    if len(source.photos) > 1 and source.target is None and shows_strips(source.photos):
        return _along_strips(source, progress, placed)
    try:
        seen = [look(path, source, progress) for path in source.photos]
    except ScribeError:
        # Several strips in one photo look like two prints; of a sheet the refusal stands.
        if len(source.photos) == 1 and source.target is None and shows_strips(source.photos):
            return _along_strips(source, progress, placed)
        raise
    if seen[0].oriented.target.form == "strip":
        return _along_strips(source, progress, placed)
    _refuse_tape(source)
    refuse_other_sheets(seen)
    placed([replace(each.sheet, height=source.height or 0.0) for each in seen])
    height = known_height(seen, source, progress)
    drawn = []
    for each in seen:
        progress(f"tracing the {source.of} in {each.photo.name}")
        drawn.append(each.outline(height))
    drawn[0].refuse_covered(source)
    drawn[0].refuse_another_kind(source, certain=certain)
    names = ", ".join(each.photo.name for each in seen)
    outline = drawn[0].outline
    if len(drawn) > 1:
        origin = f"photos {names}, {source.of}, height {height.words}"
        outline = merged([each.outline for each in drawn], origin)
    refuse_card_traced(outline, card, source.photos[0])
    building = source.building or "above"
    outline = outline.with_(
        solid=side_facing(outline.points, building, seen[0].photo.name),
        datum=axis_facing(building),
    )
    if len(drawn) > 1:
        possible = acts_for_many(outline, source)
    else:
        taken = Taken(drawn[0].trace, drawn[0].view, drawn[0].doubts)
        possible = acts_for_photo(taken, source)
    words = u_words(outline.shape_alone())
    words += f" for a height of {height.words}" if height.alone else ""
    overlays = tuple(
        draw_overlay(
            each.view, outline, f"{one.photo.name}   {source.of}   U of the shape (k = 2) {words}"
        )
        for one, each in zip(seen, drawn, strict=True)
    )
    views = tuple(each.view for each in drawn)
    facts = {
        **seen[0].facts(),
        "photo": names,
        "height": height.words + (", as stated" if height.alone else ""),
        **drawn[0].trace.facts,
    }
    assumes = (drawn[0].assumes(),) if height.alone else ()
    return Traced(outline, facts, advice(outline, list(possible)), overlays, views, assumes)


def _refuse_tape(source: PhotoSource) -> None:
    """Refuse a tape reading where there are no strips that it could lie between."""
    if source.tapes:
        raise ScribeError(
            "tape-without-strips",
            what=f"the tape reading {source.tapes[0]} lies between crosses of strips,"
            " and the photo shows a sheet and no strips",
            where=source.photos[0].name,
            do="{no tape}; a sheet's size is told by its check bars: give {bars}",
        )


def _along_strips(source: PhotoSource, progress: Progress, placed: Placed) -> Traced:
    """A run of strips, taken in many photos."""
    run = trace_strips(source, progress, placed)
    building = source.building or "above"
    outline = run.outline.with_(
        solid=side_facing(run.outline.points, building, source.photos[0].name),
        datum=axis_facing(building),
    )
    words = u_words(outline.shape_alone())
    progress("drawing the overlays")
    overlays = overlays_of(run, outline, f"{source.of}   U of the shape (k = 2) {words}")
    return Traced(
        outline,
        run.facts,
        (*run.said, *advice(outline, list(acts_for_many(outline, source)))),
        overlays,
        run.views,
        run.assumes,
    )


def write_trace(traced: Traced, out: Path, *, force: bool) -> list[Path]:
    """Write outline.csv, outline.json and the overlays into the folder."""
    ready_folder(out)
    count = len(traced.overlays)
    pictures = ["overlay.png"] if count == 1 else [f"overlay-{n + 1}.png" for n in range(count)]
    names = ["outline.csv", "outline.json", *pictures]
    refuse_existing([out / name for name in names], force=force)
    contents = [outline_csv(traced.outline).encode(), outline_json(traced.outline).encode()]
    return write_together(out, dict(zip(names, [*contents, *traced.overlays], strict=True)))


def trace_json(traced: Traced, written: list[Path]) -> str:
    """The result for another program."""
    return json.dumps({**traced.summary(), "written": [str(path) for path in written]}, indent=2)


def u_words(outline: Outline) -> str:
    """U of an outline as people want it: the usual and the worst."""
    return format_usual_and_worst(float(np.median(outline.U)), float(outline.U.max()))
