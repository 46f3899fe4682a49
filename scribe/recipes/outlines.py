"""The outlines of a job, wherever they come from: photos, files, hand readings, drawings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from scribe.job import FileSource, OutlineJob, PhotoSource, ReadSource
from scribe.outline import Outline
from scribe.outline_file import read_outline
from scribe.recipes.shaping import shaped

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Captured:
    """One outline of the job with what its capture had to say; overlay: a PNG, or None."""

    raw: Outline
    shaped: Outline
    facts: Mapping[str, str]
    advice: tuple[str, ...]
    overlay: bytes | None


def captured(job: OutlineJob, progress: Progress) -> Captured:
    """The outline as it came in, and as the job wants it."""
    source = job.source
    if isinstance(source, PhotoSource):
        return _traced(job, source, progress)
    progress(f"reading {source.path.name}")
    if isinstance(source, FileSource):
        raw = read_outline(source.path, building=source.building, u95=source.u95)
        return Captured(raw, shaped(raw, job), {"file": source.path.name}, (), None)
    return _read(job, source)


def _read(job: OutlineJob, source: ReadSource) -> Captured:
    from scribe.recipes.read import read

    raw = read(source)
    return Captured(raw, shaped(raw, job), {source.form: source.path.name}, (), None)


def _traced(job: OutlineJob, source: PhotoSource, progress: Progress) -> Captured:
    from scribe.recipes.trace import trace

    traced = trace(source, progress)
    return Captured(
        traced.outline,
        shaped(traced.outline, job),
        traced.facts,
        traced.advice,
        traced.overlays[0],
    )
