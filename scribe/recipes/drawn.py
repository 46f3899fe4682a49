"""Drawn: a trace with its outline, what it must not be, and what its U takes for granted.

In: what was traced in a photo, and the view it was found in. Out: refusals, and words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scribe.outline import Outline
from scribe.quantity import round_up_mm
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.measure import Doubts
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.view import Trace, View


@dataclass(frozen=True)
class Drawn:
    """A trace with the view it was found in, what its fit can't know, and its outline.

    lit: the view in which its light was even.
    """

    trace: Trace
    view: PhotoView
    lit: View
    doubts: Doubts
    outline: Outline

    def refuse_another_kind(self, source: PhotoSource, *, certain: bool) -> None:
        """Refuse what looks like another kind of thing, unless the fitter pointed at it."""
        if source.of != "gauge" and not _pointed_at(source):
            from scribe.capture.another_kind import refuse_another_kind

            refuse_another_kind(self.lit, self.trace, source.of, certain=certain)

    def refuse_covered(self, source: PhotoSource) -> None:
        """Refuse an edge that looks like another thing in part, or like an offcut's, unless the
        fitter pointed at it.
        """
        if source.of == "edge" and not _pointed_at(source):
            from scribe.capture.covered import refuse_covered
            from scribe.capture.parted import refuse_parted

            refuse_covered(self.lit, self.trace)
            refuse_parted(self.lit, self.trace)

    def assumes(self) -> str:
        """What U takes for granted where the height was stated and nothing bears it out."""
        lift = self.view.oriented.camera.height_sensitivity(self.trace.points, self.view.height)
        moved = float(np.abs((lift * self.trace.normals).sum(axis=1)).max())
        by = f"{round_up_mm(moved, 0.01):.2f} mm"
        return (
            f"U holds for a height of {self.view.height:g} mm above the sheet, which was only"
            " stated: nothing in the photo bears it out, and every millimetre more or less moves"
            f" the outline by up to {by}. If it doesn't lie so, correct {{height}}"
        )


def _pointed_at(source: PhotoSource) -> bool:
    return (source.start, source.end, source.near) != (None, None, None)
