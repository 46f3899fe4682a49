"""One outline of a job from what was captured to what pieces are fitted to.

Smooth the line as drawn, undo the washer, set the datum, undo the block (which was held
square to that datum). Then the end is named where stations begin: by the fitter, or by a
drawing, whose left is the room's left. A photo names no end, for how the sheet was turned
says nothing about the room.
"""

from __future__ import annotations

from dataclasses import replace

from scribe.facing import Building
from scribe.job import DatumChoice, OutlineJob
from scribe.outline import Outline
from scribe.source import FileSource, JoinSource, PhotoSource, ReadSource

# The left-hand end as one faces the building, in a drawing with x right and y up.
_LEFT_HAND: dict[Building, str] = {
    "above": "left",
    "below": "right",
    "left": "bottom",
    "right": "top",
    "inside": "left",
}
SHEET_END = "sheet's left"


def shaped(raw: Outline, job: OutlineJob) -> Outline:
    """The outline as the job wants it; its stations run along the datum that was chosen."""
    from scribe.shape.datum import to_datum
    from scribe.shape.probe import undo_block, undo_washer
    from scribe.shape.smooth import smooth

    # A piece is placed by its datum: where the sheet lay doesn't matter any more.
    shape = raw.shape_alone()
    outline = shape if job.smooth is None else smooth(shape, job.smooth)
    outline = outline if job.washer is None else undo_washer(outline, job.washer)
    drawn = job.source.building if isinstance(job.source, FileSource | ReadSource) else None
    end = _end(outline, job, drawn)
    choice = job.datum or _usual(job)
    if choice is not None and choice.association != "sheet axis":
        outline = to_datum(outline, choice.association, points=choice.between)
        end = job.end or (_LEFT_HAND[drawn] if drawn else end)
    outline = outline.with_(datum=replace(outline.datum, end=end))
    return outline if job.block is None else undo_block(outline, job.block)


def _usual(job: OutlineJob) -> DatumChoice | None:
    """A file keeps its datum; a sheet lies as it happens to, so a photo takes the chord."""
    return DatumChoice("chord") if isinstance(job.source, PhotoSource) else None


def _end(outline: Outline, job: OutlineJob, drawn: Building | None) -> str:
    if job.end is not None:
        return job.end
    on_a_sheet = drawn is None and outline.datum.association == "sheet axis"
    on_a_sheet = on_a_sheet and not isinstance(job.source, JoinSource)
    return SHEET_END if on_a_sheet else outline.datum.end
