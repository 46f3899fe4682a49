"""What the page asks for beyond the commands' recipes: pictures, a judged photo, one outline.

Everything that opens a photo is called in a worker process.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scribe.errors import ScribeError
from scribe.files import ready_folder, write_text
from scribe.job import OutlineJob, PhotoSource, Source
from scribe.job_file import read_job, tapes_of
from scribe.job_outline import outline_of
from scribe.outline import Outline
from scribe.outline_file import read_json
from scribe.places import CUT, PAGE, telling, told
from scribe.recipes.shaping import shaped
from scribe.toml_file import read_toml

if TYPE_CHECKING:
    from scribe.capture.photo_view import PhotoView
    from scribe.recipes.sight import Sight

Progress = Callable[[str], None]

SMALL_PX, SHOWN_PX = 480, 2048
_STRIPS = {"kind": "marks", "good": True, "said": "the marks of strips are found", "do": ""}
_LEARNT = ("printer", "camera")
# What may be told of a check beside its photos: as the page has it, and as CheckSource does.
_TOLD = {"height": "height", "filler": "filler", "shift": "along", "turn": "turn"}
_COURSE_MM = 10.0  # between points of a rough course


def pictures(photo: Path) -> tuple[tuple[int, int], bytes, bytes]:
    """The photo's upright size in px, and its JPEGs to show and to list."""
    from scribe.capture.picture import upright_jpegs

    size, (shown, small) = upright_jpegs(photo, (SHOWN_PX, SMALL_PX))
    return size, shown, small


def outline_job(job: Path, name: str) -> OutlineJob:
    """One outline of a job file, which need not have a piece yet."""
    top = read_toml(job)
    return outline_of(top.table("outline").table(name), name, tapes_of(top))


def sheet_alone(photo: Path) -> PhotoSource:
    """A photo of which only the sheet is wanted so far."""
    return PhotoSource((photo,), "edge")


def judged(photo: Path, source: Source, progress: Progress) -> dict[str, Any]:
    """What can be said of a photo: marks, sharpness, print scale, or what to do about it."""
    from scribe.recipes.look import look
    from scribe.recipes.run import shows_strips

    assert isinstance(source, PhotoSource)
    try:
        seen = look(photo, source, progress)
    except ScribeError as refusal:
        if source.target is None and shows_strips((photo,)):  # several strips look like two prints
            return {"good": True, "notes": [_STRIPS], "facts": {}, "strips": True}
        here = told(refusal, PAGE)
        note = _note(here.kind, said=here.what, do=here.do)
        return {"good": False, "notes": [note], "facts": {}, "strips": False}
    return _well_judged(seen.facts())


def _well_judged(facts: Mapping[str, str]) -> dict[str, Any]:
    """Of a photo that could be oriented, from what was found of it."""
    if "sheet" not in facts or " used" not in facts.get("marks", ""):
        return {"good": True, "notes": [_STRIPS], "facts": dict(facts), "strips": True}
    count, rest = facts["marks"].split(" used", 1)
    notes = [
        _note("marks", said=f"{count} marks found on the sheet {facts['sheet']}"),
        _note("sharp", said=f"sharp enough ({rest.split(', ')[-1]})"),
    ]
    strips = " strip " in facts["sheet"]  # one strip alone is told as a sheet by its name
    if not strips:  # the outline of a run says once what its length hangs on
        notes.append(_scale_note(facts["print scale"]))
    return {"good": True, "notes": notes, "facts": dict(facts), "strips": strips}


def _scale_note(scale: str) -> dict[str, Any]:
    """A print that nobody measured does no harm but to U: good, with something to do."""
    note = _note("scale", said=f"print scale: {scale}")
    if "not measured" in scale:
        note["do"] = "for a smaller U read the sheet's check bars and type them at Print"
    return note


def course_table(outline: Outline) -> list[list[str]]:
    """The outline in numbers, for whoever can't see it: along its chord, off it, and U, in mm.

    Ten stretches of equal length along the chord; off is positive to the left of travel.
    """
    import numpy as np

    from scribe.quantity import format_mm

    start, chord = outline.points[0], outline.points[-1] - outline.points[0]
    length = float(np.hypot(*chord))
    x, y = chord / length
    along = (outline.points - start) @ np.array([x, y])
    off = (outline.points - start) @ np.array([-y, x])
    rows = []
    for wanted in np.linspace(0.0, length, 11):
        k = int(np.abs(along - wanted).argmin())
        numbers = along[k], off[k], outline.U[k]
        rows.append([format_mm(float(each), d) for each, d in zip(numbers, (0, 1, 2), strict=True)])
    return rows


def _note(kind: str, *, said: str, do: str = "") -> dict[str, Any]:
    return {"kind": kind, "good": not do, "said": said, "do": do}


def trace_for_page(
    job: Path,
    name: str,
    out: Path,
    progress: Progress,
    placed: Callable[[list[dict[str, Any]]], None],
) -> dict[str, Any]:
    """Trace an outline of the job into its folder, with a sight for each photo that shows it; says
    what was found.

    placed: told the photos' sights where their outline is refused, for somebody to show it.
    """
    from scribe.recipes.sight import Sight, sight_of
    from scribe.recipes.trace import trace, write_trace

    source = outline_job(job, name).source
    if not isinstance(source, PhotoSource):
        raise ScribeError(
            "page-no-photo",
            what="this outline comes from a file, so there is nothing to trace",
            where=name,
            do="go back to the line as traced first",
        )
    views: list[PhotoView] = []
    try:
        traced = trace(source, progress, placed=views.extend)
    except ScribeError:
        alone = sorted((sight_of(view, None) for view in views), key=Sight.along)
        placed([sight.content() for sight in alone])
        raise
    write_trace(traced, out, force=True)
    sights = sorted((sight_of(view, traced.outline) for view in traced.views), key=_first)
    return {
        "lines": traced.result_lines(),
        "advice": list(traced.in_words(PAGE).advice),
        "u95_mm": [round(float(U), 4) for U in traced.outline.U],
        "measured": traced.outline.measured.tolist(),
        "judged": _well_judged(traced.facts),
        "table": course_table(traced.outline.shape_alone()),
        "sights": [sight.content() for sight in sights if len(sight.outline_px)],
    }


def _first(sight: Sight) -> int:
    return sight.first


def corrected(
    outline: Path, sights: list[dict[str, Any]], correction: Mapping[str, Any]
) -> tuple[str, dict[str, Any]]:
    """The outline's JSON with a correction made, and what the page keeps of it.

    A point of a correction is x, y px and which of the sights it was set in.
    """
    import numpy as np

    from scribe.outline_file import outline_json
    from scribe.recipes.correct import BY_HAND, cut_off, pixels_of, pulled
    from scribe.recipes.quantities import bow, chord
    from scribe.recipes.sight import Sight
    from scribe.recipes.trace import u_words

    before, seen = read_json(outline), [Sight.of_content(each) for each in sights]
    dropped = 0
    if correction["do"] == "drag":
        (*start, there), (*to, _) = correction["from_px"], correction["to_px"]
        after = pulled(
            before, seen[there], np.array(start), np.array(to), float(correction["px_shown"])
        )
    else:
        *at, there = correction["at_px"]
        after = cut_off(before, seen[there], np.array(at), correction["drop"])
        dropped = len(before) - len(after) if correction["drop"] == "start" else 0
    moved = [pixels_of(after, each, dropped) for each in seen]
    by_hand = after.budget.get(BY_HAND, np.zeros(len(after)))
    length, bent = chord(after), bow(after)
    return outline_json(after), {
        "lines": [
            f"outline: {length} from its first point to its last, bow {bent}",
            f"U (k = 2) of its shape: {u_words(after.shape_alone())}",
        ],
        "advice": [],
        "u95_mm": [round(float(U), 4) for U in after.U],
        "measured": after.measured.tolist(),
        "by_hand": (by_hand > 0).tolist(),
        "table": course_table(after.shape_alone()),
        "sights": [each.content() for each in moved if len(each.outline_px)],
    }


def on_sheet(sights: list[dict[str, Any]], pixels: list[list[float]]) -> list[list[float]]:
    """Points of the sheet, mm, under x, y px of photos and which of the sights each is of."""
    import numpy as np

    from scribe.recipes.sight import Sight

    seen = [Sight.of_content(each) for each in sights]
    points = [seen[int(there)].sheet(np.array([[x, y]]))[0] for x, y, there in pixels]
    return [[round(float(x), 3), round(float(y), 3)] for x, y in points]


def drawing_svg(job: Path, number: int, traced: Mapping[str, Path]) -> bytes:
    """A piece as the job has it now, from outlines that were traced before: name -> file."""
    from scribe.output.piece.draw_piece import draw
    from scribe.output.piece.svg import svg_bytes
    from scribe.recipes.make import fit_in_job
    from scribe.recipes.outlines import captured as captured_outline

    read = read_job(job)
    piece = read.pieces[number]
    shapes = {}
    for name in piece.outlines:
        outline = read.outlines[name]
        if name in traced:
            shapes[name] = shaped(read_json(traced[name]), outline)
        else:
            shapes[name] = captured_outline(outline, lambda _: None).shaped
    fitted = fit_in_job(read, piece, shapes)
    return svg_bytes(draw(fitted), fitted.keep.outer)


def course_csv(sights: list[dict[str, Any]], pixels: list[list[float]]) -> str:
    """A rough course as the tracer reads it, through points as `on_sheet` takes them.

    Points set in several photos are put in order along the run. Between them it goes straight on,
    with points so close that every photo it crosses has some.
    """
    import numpy as np

    from scribe.geom.polyline import stations

    points = np.array(on_sheet(sights, pixels))
    if len({there for _, _, there in pixels}) > 1:
        points = points[np.argsort(points[:, np.ptp(points, axis=0).argmax()], kind="stable")]
    s = stations(points)
    every = np.union1d(s, np.arange(0.0, s[-1], _COURSE_MM))
    course = np.column_stack([np.interp(every, s, points[:, k]) for k in (0, 1)])
    return "x_mm,y_mm\n" + "".join(f"{x:.3f},{y:.3f}\n" for x, y in course)


def check_for_page(
    job: Path, given: Mapping[str, Any], out: Path, progress: Progress
) -> dict[str, Any]:
    """Check a cut by photos, or by gaps felt at stations; says what was found.

    given: piece, photos, gaps, edge, lay, widths, tapes in their parts, and, where they are known,
    height, filler, shift, turn, printer and camera; files by their names in the job's folder,
    photos in its `photos`.
    """
    from scribe.print_scale import from_given
    from scribe.recipes.check import CheckSource, check, write_check
    from scribe.tape import reading_of

    folder = job.parent
    if given["gaps"]:
        rows = "".join(f"{station:g},{gap:g}\n" for station, gap in given["gaps"])
        files = [write_text(ready_folder(out) / "gaps.csv", f"station,gap\n{rows}")]
    else:
        files = [folder / "photos" / name for name in given["photos"]]
    printer, camera = (folder / given[key] if key in given else None for key in _LEARNT)
    beside = {name: given[key] for key, name in _TOLD.items() if key in given}
    source = CheckSource(
        job, given["piece"], tuple(files), edge=given["edge"],
        lay=given["lay"], widths=tuple((at, width) for at, width in given["widths"]),
        tapes=tuple(reading_of(parts, where="tapes") for parts in given["tapes"]),
        print_scale=from_given(None, None, printer), camera=camera, **beside,
    )  # fmt: skip
    with telling(CUT):
        found = check(source, progress, PAGE)
    written = write_check(found, out, force=True)
    return {**found.summary(), "files": [path.name for path in written]}


def made_json(result: Any) -> dict[str, Any]:
    """What `scribe make` says, as plain values."""
    from scribe.recipes.make import result_json

    content: dict[str, Any] = json.loads(result_json(result))
    return content
