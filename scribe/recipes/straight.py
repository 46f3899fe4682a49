"""How straight an outline is (ISO 12780), in words with U."""

from __future__ import annotations

from scribe.outline import Outline
from scribe.quantity import format_u


def straight_words(outline: Outline) -> str:
    """How straight an outline is, with U; nothing where two points alone were measured."""
    if int(outline.measured.sum()) < 3:
        return ""
    from scribe.shape.straightness import straightness_of

    found = straightness_of(outline)
    least, zone = (format_u(t, 2.0 * found.u_t) for t in (found.t, found.t_minimum_zone))
    return f"{least} from the least-squares line, {zone} in the minimum zone"
