"""The piece as the page draws it, what was made of it, and the check of its cut."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from scribe.files import ready_folder, write_text
from scribe.job_file import read_job
from scribe.outline_file import read_json
from scribe.places import CUT, PAGE, telling
from scribe.recipes.shaping import shaped

Progress = Callable[[str], None]

_LEARNT = ("printer", "camera")
# What may be told of a check beside its photos: as the page has it, and as CheckSource does.
_TOLD = {"height": "height", "filler": "filler", "shift": "along", "turn": "turn"}


def drawing_svg(job: Path, number: int, traced: Mapping[str, Path]) -> bytes:
    """A piece as the job has it now, from outlines that were traced before: name -> file."""
    from scribe.output.piece.draw_piece import draw
    from scribe.output.piece.svg import svg_bytes
    from scribe.recipes.fitted import fit_in_job
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


def made_json(result: Any) -> dict[str, Any]:
    """What `scribe make` says, as plain values."""
    from scribe.recipes.made import result_json

    content: dict[str, Any] = json.loads(result_json(result))
    return content


def check_for_page(
    job: Path, given: Mapping[str, Any], out: Path, progress: Progress
) -> dict[str, Any]:
    """Check a cut by photos, or by gaps felt at stations; says what was found.

    given: piece, photos, gaps, edge, lay, widths, tapes in their parts, and, where they are known,
    height, filler, shift, turn, printer and camera; files by their names in the job's folder,
    photos in its `photos`.
    """
    from scribe.print_scale import from_given
    from scribe.recipes.check import check, write_check
    from scribe.recipes.check_source import CheckSource
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
