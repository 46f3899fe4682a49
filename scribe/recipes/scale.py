"""The print scale that the photo itself tells: by a bank card in it, or by the paper's edges."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.print_scale import combined
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.pose.orient import Oriented
    from scribe.capture.sheet.card import CardSeen

Array = npt.NDArray[np.float64]

_BESIDE_MM = 1.5  # nearer to the card's edge than this an outline is the card's


def with_scale(source: PhotoSource) -> tuple[PhotoSource, CardSeen | None]:
    """The source with what its first photo tells of the print scale, and the card in it.

    Weighed with what was given besides; what contradicts is refused.
    """
    if not source.scale_by:
        return source, None
    from scribe.capture.photo_file import read_photo
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.pose.orient import orient
    from scribe.capture.sheet.paper import paper_scale

    if source.target is not None:
        raise ScribeError(
            "scale-by-board",
            what="the scale of a described board is what its file says",
            where=str(source.target),
            do="leave out {scale by}, or give {print scale}",
        )
    oriented = orient(read_photo(source.photos[0]))
    told = [] if source.print_scale is None else [source.print_scale]
    card = card_in(oriented) if "card" in source.scale_by else None
    told += [] if card is None else [card.scale]
    if "paper" in source.scale_by:
        told.append(paper_scale(PhotoView(oriented, 0.0)))
    return replace(source, print_scale=combined(told), scale_by=()), card


def card_in(oriented: Oriented) -> CardSeen:
    """The bank card in the window of an oriented photo, in lengths that the sheet states."""
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.sheet.card import see_card
    from scribe.capture.sheet.tone import black_growth
    from scribe.standards import CARD_THICKNESS_MM

    tone = black_growth(PhotoView(oriented, 0.0))
    return see_card(PhotoView(oriented, CARD_THICKNESS_MM), tone)


def refuse_card_traced(outline: Outline, card: CardSeen | None, photo: Path) -> None:
    """An outline that runs along the card is the card's."""
    if card is None:
        return
    corners = card.corners * card.scale.factors
    start, along = corners, np.roll(corners, -1, axis=0) - corners
    away = outline.points[:, None] - start[None]
    part = (away * along).sum(axis=2) / (along**2).sum(axis=1)
    nearest = away - np.clip(part, 0.0, 1.0)[..., None] * along
    if (np.hypot(*np.moveaxis(nearest, -1, 0)).min(axis=1) < _BESIDE_MM).any():
        raise ScribeError(
            "card-traced",
            what="the outline that was found runs along the bank card",
            where=photo.name,
            do="lay the card further away from what is traced, or say with {ends} where the"
            " outline runs; or measure {the scale once}",
        )
