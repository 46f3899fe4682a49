"""The outlines of a job, wherever they come from: photos, files, hand readings, drawings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from scribe.job import OutlineJob
from scribe.outline import Outline
from scribe.outline_file import read_outline
from scribe.places import Words, said
from scribe.recipes.shaping import shaped
from scribe.source import FileSource, JoinSource, PhotoSource, ReadSource

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Captured:
    """One outline of the job with what its capture had to say; overlay: a PNG, or None.
    assumes: what its U takes for granted that nothing shows.
    """

    raw: Outline
    shaped: Outline
    facts: Mapping[str, str]
    advice: tuple[str, ...]
    overlay: bytes | None
    assumes: tuple[str, ...] = ()

    def in_words(self, words: Words) -> Captured:
        """With its advice and what it assumes in the words of whoever is told."""
        return replace(
            self,
            advice=tuple(said(each, words) for each in self.advice),
            assumes=tuple(said(each, words) for each in self.assumes),
        )


def captured_all(
    jobs: Mapping[str, OutlineJob], names: Iterable[str], progress: Progress
) -> dict[str, Captured]:
    """The outlines of these names, and those that they are joined of, each captured once."""
    found: dict[str, Captured] = {}
    for name in names:
        source = jobs[name].source
        for part in source.pieces if isinstance(source, JoinSource) else (name,):
            if part not in found:
                found[part] = captured(jobs[part], progress)
        if isinstance(source, JoinSource):
            progress(f"joining {name}")
            found[name] = _joined(jobs[name], source, found)
    return found


def captured(job: OutlineJob, progress: Progress) -> Captured:
    """One outline that isn't joined of others, as it came in and as the job wants it."""
    source = job.source
    assert not isinstance(source, JoinSource)  # it is joined of others
    if isinstance(source, PhotoSource):
        return _traced(job, source, progress)
    progress(f"reading {source.path.name}")
    if isinstance(source, FileSource):
        raw = read_outline(source.path, building=source.building, u95=source.u95)
        return Captured(raw, shaped(raw, job), {"file": source.path.name}, (), None)
    return _read(job, source)


def _joined(job: OutlineJob, source: JoinSource, found: Mapping[str, Captured]) -> Captured:
    from scribe.shape.join import join

    pieces = [found[name].shaped for name in source.pieces]
    joined = join(pieces, source.joints, source.pieces)
    facts = {"joined": ", ".join(source.pieces), "joints": "; ".join(joined.said)}
    assumes = tuple(f"{name}: {each}" for name in source.pieces for each in found[name].assumes)
    return Captured(joined.outline, shaped(joined.outline, job), facts, (), None, assumes)


def _read(job: OutlineJob, source: ReadSource) -> Captured:
    from scribe.recipes.read import advice, read

    raw = read(source)
    facts: dict[str, str] = {source.form: source.path.name}
    if source.surface is not None:
        facts["surface"] = source.surface
    return Captured(raw, shaped(raw, job), facts, advice(source, raw), None)


def _traced(job: OutlineJob, source: PhotoSource, progress: Progress) -> Captured:
    from scribe.recipes.trace import trace

    traced = trace(source, progress)
    return Captured(
        traced.outline,
        shaped(traced.outline, job),
        traced.facts,
        traced.advice,
        traced.overlays[0],
        traced.assumes,
    )
