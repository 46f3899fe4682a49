"""Does a run's outline go as far as its strips do? Where it ends well before, that is said.

A line may end there. But it may also be too faint from there on, and an outline that is too
short looks right.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.capture.run.view import Placed

Array = npt.NDArray[np.float64]

_SHORT_MM = 40.0  # nobody tapes strips further than that past the end of what is traced


def early_ends(points: Array, placed: Sequence[Placed], axis: Array, of: str) -> list[str]:
    """A sentence for each end. points: (N, 2) mm of the outline; axis: (2,) along the run."""
    own = points @ axis
    marks = np.concatenate([each.oriented.points @ axis for each in placed])
    do = "If it is there as well, make it stand out better, or take one more photo from nearer."
    said = []
    if own.min() - marks.min() > _SHORT_MM:
        said.append(
            f"The {of} is seen from {own.min():.0f} mm on only, the strips begin at"
            f" {marks.min():.0f}. {do}"
        )
    if marks.max() - own.max() > _SHORT_MM:
        said.append(
            f"The {of} is seen to {own.max():.0f} mm only, the strips go on to"
            f" {marks.max():.0f}. {do}"
        )
    return said
