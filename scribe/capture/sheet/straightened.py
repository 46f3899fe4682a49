"""Was the picture cut to its page and straightened, as a program that scans pages does?

Such a picture is as of a camera far above the middle of the page. What lies in the sheet's plane
it shows where it is, and what lies above it shifted, by as much as the phone had been tilted:
that can't be told any more. No photo shows a page so: its sides converge, and no sensor has the
shape of ISO 216 paper.
"""

from __future__ import annotations

import numpy as np

from scribe.capture.pose.orient import Oriented
from scribe.errors import ScribeError

# Of the long side, from the page's corners to the picture's: half of what 4 : 3 leaves at best.
_NEAR = 0.015


def refuse_straightened(oriented: Oriented) -> None:
    """Refuse a picture whose four corners are those of the window sheet's page."""
    if oriented.target.form != "window":
        return
    (width, height), (x, y) = oriented.photo.size, oriented.target.size * np.array(oriented.scale)
    page = np.array([[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]])
    picture = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    seen = oriented.camera.plane_pixels(page, 0.0)
    away = np.hypot(*(seen[:, None, :] - picture[None, :, :]).transpose(2, 0, 1))
    if (away.min(axis=0) < _NEAR * max(width, height)).all():
        raise ScribeError(
            "photo-straightened",
            what="the picture was cut to the page and straightened, as by a program that scans"
            " pages, so that nothing tells from where it was taken",
            where=oriented.photo.name,
            do="take an ordinary photo and give the phone's own file",
        )
