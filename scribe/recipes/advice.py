"""The one act at the wall that would help most, with the number it would bring.

Each act is worked out as an outline: the same points with the budget they would have. It is
judged on the shape, which is what a piece is cut to: where the sheet lay on the table doesn't
matter. Of acts that bring nearly as much the easiest is named.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.budget import entries
from scribe.camera_file import read_camera
from scribe.outline import Outline
from scribe.print_scale import READ_U, UNCHECKED_U
from scribe.recipes.height import STATED_HEIGHT_U, THICK_U
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.measure import Doubts
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.view import Trace

Array = npt.NDArray[np.float64]

WORTH = 0.8  # an act is named when it brings U to this part of what it is, or below
_NEARLY = 1.1  # U after an easier act may be so many times that after the best
_END = 1.3  # an end is named when U there is so many times that of the whole

_BARS = "measure both check bars with a steel rule and give {bars}"
_TELL = "tell how high the traced edge lies above the sheet ({height})"


@dataclass(frozen=True)
class Act:
    """Something to do, and the outline with the budget it then would have."""

    words: str
    outline: Outline


@dataclass(frozen=True)
class Taken:
    """One photo as it was traced, and what its fit couldn't know."""

    trace: Trace
    view: PhotoView
    doubts: Doubts

    def outline(self, view: PhotoView | None = None, doubts: Doubts | None = None) -> Outline:
        """As it is, or as it would be: what is found in pixels is as good in mm as they are."""
        from scribe.capture.measure import outline_of

        trace = self.trace
        if view is not None:
            finer = view.pixel(trace.points) / self.view.pixel(trace.points)
            others = np.sum([part**2 for part in trace.parts.values()], axis=0)
            own = np.maximum(trace.u**2 - others, 0.0)
            trace = replace(trace, u=np.sqrt(own * finer**2 + others))
        return outline_of(trace, view or self.view, doubts or self.doubts, "")


def acts_for_photo(taken: Taken, source: PhotoSource) -> Iterator[Act]:
    """What can still be done about one photo and is worth it, the easiest first."""
    from scribe.capture.pose.foresee import Foresight
    from scribe.capture.several import height_from, merged

    doubts, points = taken.doubts, taken.trace.points
    big = _Shares.of(taken.outline())
    if source.print_scale is None and big.enough("print scale"):
        yield Act(_BARS, taken.outline(doubts=replace(doubts, scale=(READ_U, READ_U))))
    if source.height is None and big.enough("height"):
        yield Act(_TELL, taken.outline(doubts=replace(doubts, height=STATED_HEIGHT_U)))
    if big.enough("bend"):
        flat = replace(taken.view, oriented=replace(taken.view.oriented, bend_mm=0.0))
        yield Act("tape the sheet down flat on a board", taken.outline(view=flat))
    known = read_camera(source.camera) if source.camera else None
    sight = Foresight.of(taken.view, known)
    if big.enough("pose", "lens", "height", "bend", "localisation"):
        for name, part in _ends(points).items():
            words = f"take the photo again, with the phone squarely over the {name}"
            yield Act(words, taken.outline(view=sight.squarely_over(points[part].mean(axis=0))))
        words = "take the photo again from nearer, so that the sheet fills the picture"
        yield Act(words, taken.outline(view=sight.nearer()))
    if source.height is None and big.enough("height", "pose", "lens", "localisation"):
        other = sight.from_other_side(points[-1] - points[0])
        seen = height_from([taken.trace, taken.trace], [taken.view, other])
        found_u = float(np.hypot(seen.u, THICK_U[source.of]))
        both = replace(doubts, height=1.0 / float(np.hypot(1.0 / found_u, 1.0 / doubts.height)))
        pair = [taken.outline(view=view, doubts=both) for view in (taken.view, other)]
        words = "take a second photo from the other side, and touch nothing between them"
        yield Act(words, merged(pair, ""))
    if known is None and big.enough("lens", "pose"):
        words = "learn the phone's lens once {learn}{and name it}"
        yield Act(words, taken.outline(view=sight.lens_learnt()))


@dataclass(frozen=True)
class _Shares:
    """What part of the mean square of the shape's u each entry has."""

    shares: Mapping[str, float]

    @staticmethod
    def of(outline: Outline) -> _Shares:
        parts = outline.shape_alone().budget
        square = {name: float((part**2).mean()) for name, part in parts.items()}
        total = sum(square.values()) or 1.0
        return _Shares({name: each / total for name, each in square.items()})

    def enough(self, *names: str) -> bool:
        """Whether an act could be worth it that took these entries away altogether."""
        return sum(self.shares.get(name, 0.0) for name in names) >= 1.0 - WORTH**2


def acts_for_many(outline: Outline, source: PhotoSource) -> Iterator[Act]:
    """What can be done about an outline of several photos."""
    if source.print_scale is None:
        yield Act(_BARS, _lessened(outline, "print scale", READ_U / UNCHECKED_U))
    if source.height is None:
        yield Act(_TELL, _lessened(outline, "height", 0.0))


def advice(outline: Outline, possible: Sequence[Act]) -> tuple[str, ...]:
    """The act that lowers u of the shape most (root mean square), if any lowers it by much."""
    shape = outline.shape_alone()
    after = [act.outline.shape_alone() for act in possible]
    now = _rms(shape)
    if not after or not shape.budget or now <= 0.0:
        return ()
    left = [_rms(each) for each in after]
    if min(left) > WORTH * now:
        return ()
    best = next(k for k, each in enumerate(left) if each <= _NEARLY * min(left))
    end = _worst_end(shape)
    largest = max(entries(shape), key=lambda row: row.share_median)
    there, then = (f"{2 * _rms(each, end):.2f} mm" for each in (shape, after[best]))
    where = f" ({there} towards the {end})" if end else ""
    first = (
        f"Over its length, U of the shape is about {2 * now:.2f} mm{where}, most of it from "
        f"{largest.name}."
    )
    brings = f"about {2 * left[best]:.2f} mm" + (f" ({then} towards the {end})" if end else "")
    helps = f"What would help most: {possible[best].words}."
    return (f"{first} {helps} That would bring it down to {brings}.",)


def _rms(outline: Outline, end: str = "") -> float:
    u = outline.u[_ends(outline.points)[end]] if end else outline.u
    return float(np.sqrt((u**2).mean()))


def _ends(points: Array) -> dict[str, slice]:
    """The third at either end of an outline (N, 2), by its name on the sheet with y up."""
    third = max(len(points) // 3, 1)
    run = points[-1] - points[0]
    axis = int(abs(run[1]) > abs(run[0]))
    names = (("left end", "right end"), ("lower end", "upper end"))[axis]
    first, last = names if run[axis] > 0.0 else names[::-1]
    return {first: slice(0, third), last: slice(-third, None)}


def _worst_end(shape: Outline) -> str:
    """The end at which the shape is known worst, when one stands out."""
    worst = max(_ends(shape.points), key=lambda name: _rms(shape, name))
    return worst if _rms(shape, worst) > _END * _rms(shape) else ""


def _lessened(outline: Outline, name: str, left: float) -> Outline:
    """The outline with one entry of its budget, and what is common of it, made smaller."""
    if name not in outline.budget:
        return outline
    budget = dict(outline.budget) | {name: left * outline.budget[name]}
    shared = dict(outline.shared)
    if name in shared:
        shared[name] = left * shared[name]
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return outline.with_(u=u, budget=budget, shared=shared)
