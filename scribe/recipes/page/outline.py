"""An outline on its photos: traced, put right by hand, shown where it runs.

Sights say how photo and outline lie on each other; points are x, y px of the upright photo, with
the number of the sight that they are of.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scribe.errors import ScribeError
from scribe.job import OutlineJob
from scribe.job_file import taped
from scribe.job_outline import outline_of
from scribe.outline import Outline
from scribe.outline_file import read_json
from scribe.places import PAGE
from scribe.recipes.page.photo import well_judged
from scribe.source import PhotoSource
from scribe.toml_file import read_toml

if TYPE_CHECKING:
    from scribe.capture.photo_view import PhotoView
    from scribe.recipes.sight import Sight

Progress = Callable[[str], None]

_COURSE_MM = 10.0  # between points of a rough course


def outline_job(job: Path, name: str) -> OutlineJob:
    """One outline of a job file, which need not have a piece yet."""
    top = read_toml(job)
    return taped(outline_of(top.table("outline").table(name), name), top)


def photos_of(job: Path, name: str) -> tuple[Path, ...]:
    """The photos that an outline of a job is traced from."""
    source = outline_job(job, name).source
    return source.photos if isinstance(source, PhotoSource) else ()


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
        "lines": traced.in_words(PAGE).result_lines(),
        "advice": list(traced.in_words(PAGE).advice),
        "u95_mm": [round(float(U), 4) for U in traced.outline.U],
        "measured": traced.outline.measured.tolist(),
        "judged": well_judged(traced.facts),
        "table": course_table(traced.outline.shape_alone()),
        "sights": [sight.content() for sight in sights if len(sight.outline_px)],
    }


def _first(sight: Sight) -> int:
    return sight.first


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
