"""How high the outline lies above the sheet: stated, guessed, or told by photos from two sides."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from scribe.errors import ScribeError
from scribe.quantity import format_u
from scribe.source import Kind, PhotoSource

if TYPE_CHECKING:
    from scribe.capture.edges.cast_shadow import Shadow
    from scribe.capture.edges.near_side import Side
    from scribe.capture.several import Height
    from scribe.recipes.seen import Seen

# Standard uncertainty of a height that was stated: a thickness taken with a rule or a slide.
STATED_HEIGHT_U = 0.1
# A height that was not stated: (taken as, its standard uncertainty) mm. A line that no board
# carries lies in the sheet's plane; gauge pins lie some millimetres up (common practice, no
# source); what lies on the sheet may be a card or a worktop.
UNSTATED_HEIGHT = {"line": (0.0, 0.3), "gauge": (5.0, 2.5), "edge": (0.0, 12.0)}
# Pins and boards are thick: what bounds them lies a little lower for a camera that looks at their
# ends than for one that looks over them (common practice, no source). mm, of a height found.
THICK_U = {"line": 0.02, "gauge": 0.3, "edge": 0.3}
# Where the upper side of pins can lie over the paper: thicker than a wire, thinner than a gauge
# lying on packing (common practice, no source).
_PINS_MM = (0.3, 30.0)
# Above this a height in a single photo wants something that bears it out: thicker than most boards
# (common practice, no source).
_ALONE_MM = 30.0
_SETTLED_MM = 0.05  # a height found from several photos is traced at once more beyond this
_ROUNDS = 4
_SAYS_MM = 300.0  # a height with a larger U is a number that says nothing (our choice)
JOINT = 2.5  # standard uncertainties by which two heights may differ


@dataclass(frozen=True)
class KnownHeight:
    """The plane of the outline above the sheet, its standard uncertainty, and how it is known.

    alone: True when it was stated and the photo shows nothing to hold it against.
    """

    height: float
    u: float
    words: str
    alone: bool = False


def known_height(
    seen: Sequence[Seen], source: PhotoSource, progress: Callable[[str], None]
) -> KnownHeight:
    """The height as stated, as guessed, or as several photos from different sides tell it.

    Of one photo the side of a board that it may show, or a shadow, tells gross mistakes; a line
    that a thing carries is as high as nobody knows. Refuses what was stated if the photos say
    otherwise ("height-contradicts"), a thing that they put below the sheet ("below-sheet"), and
    photos between which something was moved.
    """
    before = before_photos(source)
    if len(seen) == 1:
        thing = seen[0].thing()
        before = before if thing is None else on_thing(before, source)
        side = None if thing is None else seen[0].side(thing)
        if side is not None:
            return beside_side(before, side, source)
        return beside_shadow(before, None if thing is None else seen[0].shadow(thing), source)
    from scribe.capture.several import height_from, refuse_moved

    names = ", ".join(each.photo.name for each in seen)
    settled = before
    for _ in range(_ROUNDS):
        progress(f"comparing the photos at a height of {settled.height:.1f} mm")
        pairs = [each.trace(settled.height) for each in seen]
        found = height_from([trace for trace, _ in pairs], [view for _, view in pairs])
        found = replace(found, u=float(np.hypot(found.u, THICK_U[source.of])))
        last, settled = settled.height, settled_height(before, found, source, len(seen))
        if abs(settled.height - last) < _SETTLED_MM:
            break
    refuse_moved(found, names)
    refuse_contradicted(before, found, source, names)
    return settled


def before_photos(source: PhotoSource) -> KnownHeight:
    """What is known of the height before photos are compared."""
    if source.height is None:
        return _unstated(source.of)
    if source.of == "gauge" and not _PINS_MM[0] <= source.height <= _PINS_MM[1]:
        raise ScribeError(
            "height-not-credible",
            what=f"a height of {source.height:g} mm can't be right for the pins of a gauge",
            where=_names(source),
            do="measure from the paper to the upper side of the pins, in mm, and give that",
        )
    u = STATED_HEIGHT_U * (source.height > 0.0)
    return KnownHeight(source.height, u, f"{source.height:g} mm")


def _unstated(of: Kind) -> KnownHeight:
    """What a height is taken for that nobody stated."""
    height, u = UNSTATED_HEIGHT[of]
    return KnownHeight(height, u, f"not stated, taken for {height:g} +/- {2.0 * u:g} mm")


def on_thing(before: KnownHeight, source: PhotoSource) -> KnownHeight:
    """Known before, of a thing that lies on the sheet: a card as well as a board.

    Refuses an edge in the sheet's own plane ("height-not-credible").
    """
    if source.height is None:
        return _unstated("edge")
    if source.of == "edge" and source.height == 0.0:
        raise ScribeError(
            "height-not-credible",
            what="a height of 0 mm can't be right for an edge: paper and card have 0.1 to 1 mm",
            where=_names(source),
            do="correct {height}: measure from the paper to the upper side of the edge",
        )
    return before


def beside_side(before: KnownHeight, side: Side, source: PhotoSource) -> KnownHeight:
    """Known before, held against the side that one photo shows; a mere guess yields to it.

    Refuses a stated height that the side denies ("height-contradicts").
    """
    if source.height is None:
        if before.u < side.u and not side.denies(before.height):
            return before
        seen = format_u(side.height, 2.0 * side.u)
        return KnownHeight(side.height, side.u, f"not stated; {seen} by the side that is seen")
    if side.denies(source.height):
        raise _contradicted(
            f"the photo shows a side {side.words}, and {before.words} is far from that", source
        )
    return replace(before, words=f"{before.words}, and the side that is seen is {side.words}")


def beside_shadow(before: KnownHeight, shadow: Shadow | None, source: PhotoSource) -> KnownHeight:
    """Known before, held against the shadow in a photo that shows no side; a guess yields to it.

    Refuses a stated height too low for the shadow ("height-contradicts"), and one that nothing
    bears out and nobody would expect ("height-not-credible").
    """
    if shadow is not None and shadow.denies(before.height):
        if source.height is not None:
            raise _contradicted(
                f"the photo shows a shadow {shadow.words}, and what lies {before.words} above the"
                " sheet casts none like it",
                source,
            )
        if before.u < shadow.u:
            seen = format_u(shadow.height, 2.0 * shadow.u)
            return KnownHeight(shadow.height, shadow.u, f"not stated; {seen} by its shadow")
    if source.height is not None and source.height > _ALONE_MM:
        raise ScribeError(
            "height-not-credible",
            what=f"{before.words} above the sheet is more than boards are thick, and nothing"
            " in this one photo bears it out",
            where=_names(source),
            do="correct {height}; if it is right, give a second photo from another side: two"
            " tell the height themselves",
        )
    return replace(before, alone=source.height is not None)


def _contradicted(what: str, source: PhotoSource) -> ScribeError:
    return ScribeError(
        "height-contradicts",
        what=what,
        where=_names(source),
        do="correct {height} or leave it out; if it is right, give a second photo from another"
        " side: two tell the height themselves",
    )


def _names(source: PhotoSource) -> str:
    return ", ".join(path.name for path in source.photos)


def settled_height(
    before: KnownHeight, found: Height, source: PhotoSource, photos: int
) -> KnownHeight:
    """Known before and seen, each by its weight; a mere guess yields to photos that deny it."""
    seen = format_u(found.height, 2.0 * found.u)
    stated = source.height is not None
    if not stated and _apart(before, found):
        return KnownHeight(found.height, found.u, f"{seen} by {photos} photos")
    if found.u > before.u and not stated:
        words = f"not stated, and the {photos} photos are from too nearly the same side to tell it"
        words += f": {seen}" if 2.0 * found.u < _SAYS_MM else ""
    else:
        words = f"{seen} by {photos} photos" + (f", stated {before.words}" if stated else "")
    a, b = 1.0 / max(before.u, 1e-6) ** 2, 1.0 / found.u**2
    height = (a * before.height + b * found.height) / (a + b)
    return KnownHeight(height, float(1.0 / np.sqrt(a + b)), words)


def refuse_contradicted(
    before: KnownHeight, found: Height, source: PhotoSource, where: str
) -> None:
    """Refuse a height that can't be, or that isn't what was stated."""
    seen = format_u(found.height, 2.0 * found.u)
    if found.height < -JOINT * float(np.hypot(found.u, STATED_HEIGHT_U)):
        raise ScribeError(
            "below-sheet",
            what=f"the photos would have it {format_u(-found.height, 2.0 * found.u)} below the"
            " sheet: the thing or the sheet was moved between them",
            where=where,
            do="take the photos again without touching anything between them",
        )
    if not _apart(before, found):
        return
    if source.height is not None:
        raise ScribeError(
            "height-contradicts",
            what=f"the photos say that it lies {seen} above the sheet, and {before.words} is"
            f" {abs(found.height - before.height):.1f} mm from that",
            where=where,
            do="correct {height} or leave it out; if it is right, the thing was moved between the"
            " photos: take them again",
        )
    if source.of == "gauge":
        raise ScribeError(
            "height-contradicts",
            what=f"the photos say that the pins lie {seen} above the sheet, which is not where a"
            " gauge that lies on it has them",
            where=where,
            do="give {height} if it lies so; if not, the gauge was moved between the photos: take"
            " them again",
        )


def _apart(before: KnownHeight, found: Height) -> bool:
    """Whether the two differ by more than their joint uncertainty."""
    joint = float(np.hypot(found.u, max(before.u, STATED_HEIGHT_U)))
    return abs(found.height - before.height) > JOINT * joint
