"""Find the markers that say where on a target they are, and so which kind of target it is.

Markers are looked for in a reduced copy first, and among the commonest sheet's first: a
search costs in proportion to the pixels and to the identities it may find. Only identities
are taken from here; positions are measured on crossings afterwards.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo, reduced
from scribe.errors import ScribeError
from scribe.target import DICTIONARY, NUMBER_BASE, PLACE_BASE, Target, strip_sheet, window_sheet

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Search:
    """One pass of the detector.

    long_side: px of the reduced copy. ids: to look for. thorough: try several
    neighbourhoods for the threshold, which takes three times as long. smallest: perimeter of a
    marker, part of the copy's long side.
    """

    long_side: int
    ids: range
    thorough: bool
    smallest: float = 0.02


_COMMONEST = range(PLACE_BASE["A4", "window"], PLACE_BASE["Letter", "window"])
_PLACES = range(NUMBER_BASE)
_SHEET_SEARCHES = (
    Search(1000, _COMMONEST, thorough=False),
    Search(1000, _PLACES, thorough=False),
    Search(2000, _PLACES, thorough=True),
    Search(4000, _PLACES, thorough=True),
)
_ENOUGH, _SPREAD = 0.3, 0.6  # of the place markers, of the target's extent: no larger copy then
FEWEST_MARKERS = 4
BLUR_LIMIT_PX = 3.0
_SECOND_PRINT = 3  # this many markers seen twice, or of another kind, are not a misreading


@dataclass(frozen=True)
class Sighting:
    """The markers of one target in a photo: indices into target.ids, (K, 4, 2) px corners."""

    target: Target
    index: Ints
    corners: Array

    def points(self) -> Array:
        """(4 K, 2) mm, the corners' places on the target."""
        return self.target.markers[self.index].reshape(-1, 2)

    def pixels(self) -> Array:
        """(4 K, 2) px, the corners as found in the reduced photo."""
        return self.corners.reshape(-1, 2)

    def is_enough(self) -> bool:
        """Enough markers, far enough apart, to predict every crossing of the target."""
        spread = np.ptp(self.points(), axis=0) / np.ptp(self.target.marker_corners(), axis=0)
        many = len(self.index) >= _ENOUGH * self.target.is_place.sum()
        return bool(many and spread.min() >= _SPREAD)


def find_marks(photo: Photo, board: Target | None = None) -> Sighting:
    """The target in the photo: one of our sheets, or the described board."""
    best: Sighting | None = None
    refusal: ScribeError | None = None
    for search in _SHEET_SEARCHES if board is None else _board_searches(board):
        factor = min(search.long_side / max(photo.size), 1.0)
        ids, corners = detect(photo, factor, board.dictionary if board else DICTIONARY, search)
        try:
            target = board or _kind_of_sheet(photo, ids)
            seen = agreeing(photo, named(target, ids, corners))
        except ScribeError as error:
            if error.kind == "photo-two-prints":
                raise
            refusal = error
        else:
            if best is None or len(seen.index) > len(best.index):
                best = seen
            if best.is_enough():
                break
        if factor == 1.0 and search.thorough:
            break
    if best is not None:
        return best
    blur = strongest_edge_blur(photo)
    if blur > BLUR_LIMIT_PX:
        raise blurred(photo, blur)
    assert refusal is not None
    raise refusal


def _board_searches(board: Target) -> tuple[Search, ...]:
    ids = range(int(board.ids[0]), int(board.ids[-1]) + 1)
    return tuple(Search(side, ids, side > 1000) for side in (1000, 2000, 4000))


def detect(photo: Photo, factor: float, dictionary: str, search: Search) -> tuple[Ints, Array]:
    """Identities (K,) and corners (K, 4, 2) px in the full photo."""
    small = reduced(photo.grey, factor)
    settings = cv2.aruco.DetectorParameters()
    settings.minMarkerPerimeterRate = search.smallest
    if not search.thorough:
        settings.adaptiveThreshWinSizeMin = settings.adaptiveThreshWinSizeMax = 13
    whole = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    codes = whole.bytesList[search.ids.start : search.ids.stop]
    table = cv2.aruco.Dictionary(codes, whole.markerSize, whole.maxCorrectionBits)
    corners, ids, _ = cv2.aruco.ArucoDetector(table, settings).detectMarkers(small)
    if not len(corners):
        return np.zeros(0, np.int64), np.zeros((0, 4, 2))
    stacked = np.array(corners, dtype=np.float64).reshape(-1, 4, 2)
    return ids.ravel().astype(np.int64) + search.ids.start, (stacked + 0.5) / factor - 0.5


def _kind_of_sheet(photo: Photo, ids: Ints) -> Target:
    """The kind of sheet that most place markers speak of; its number is not known yet."""
    votes = Counter(kind_of(int(identity)) for identity in ids)
    if not votes:
        raise no_marks(photo)
    common = votes.most_common(2)
    if len(common) == 2 and common[1][1] >= _SECOND_PRINT:
        raise _two_prints(photo, " and ".join(f"{paper} {form}" for (paper, form), _ in common))
    (paper, form), _ = common[0]
    twice = sum(count > 1 for count in Counter(ids.tolist()).values())
    if twice >= _SECOND_PRINT and form == "window":
        raise _two_prints(photo, f"{twice} marks of an {paper} window are there twice")
    return window_sheet(paper, 1) if form == "window" else strip_sheet(paper, 1)


def kind_of(identity: int) -> tuple[str, str]:
    """(paper, form) of the sheet that a place marker belongs to."""
    below = [key for key in PLACE_BASE if PLACE_BASE[key] <= identity]
    return max(below, key=PLACE_BASE.__getitem__)


def named(target: Target, ids: Ints, corners: Array) -> Sighting:
    """The markers that belong to the target."""
    index = {int(identity): k for k, identity in enumerate(target.ids) if target.is_place[k]}
    known = [k for k, identity in enumerate(ids) if int(identity) in index]
    places = np.array([index[int(ids[k])] for k in known], dtype=np.int64)
    return Sighting(target, places, corners[known])


def agreeing(photo: Photo, seen: Sighting) -> Sighting:
    """Drop markers that do not lie on one plane with the others (misread, or of another print)."""
    if len(seen.index) < FEWEST_MARKERS:
        raise _few_marks(photo, len(seen.index)) if len(seen.index) else no_marks(photo)
    threshold = 0.02 * max(photo.size)  # a lens may bend straight lines by this much
    _, mask = cv2.findHomography(seen.points(), seen.pixels(), cv2.RANSAC, threshold)
    whole = mask.reshape(-1, 4).all(axis=1) if mask is not None else np.zeros(len(seen.index), bool)
    if whole.sum() < FEWEST_MARKERS:
        raise _few_marks(photo, int(whole.sum()))
    return Sighting(seen.target, seen.index[whole], seen.corners[whole])


def strongest_edge_blur(photo: Photo) -> float:
    """px, how blurred even the sharpest edges of the photo are, as a Gaussian's sigma.

    An edge of the photo's whole range R rises by R / (sqrt(2 pi) sigma) to the pixel.
    """
    grey = reduced(photo.grey, 1.0).astype(np.float32)
    rise = np.abs(np.diff(grey, axis=1))
    low, high = np.percentile(grey[::4, ::4], [1.0, 99.0])
    steepest = float(np.percentile(rise[::2, ::2], 99.95))
    return float((high - low) / (np.sqrt(2.0 * np.pi) * max(steepest, 1e-6)))


def blurred(photo: Photo, blur_px: float) -> ScribeError:
    """The refusal of a photo whose edges run into each other."""
    return ScribeError(
        "photo-blurred",
        what=f"the photo is blurred by about {blur_px:.0f} pixels",
        where=photo.name,
        do="rest the phone on something, tap on the sheet to focus, and take the photo again",
    )


def _two_prints(photo: Photo, what: str) -> ScribeError:
    return ScribeError(
        "photo-two-prints",
        what=f"the photo shows marks of different sheets: {what}",
        where=photo.name,
        do="leave one sheet in view, cover or remove the others, and take the photo again",
    )


def no_marks(photo: Photo) -> ScribeError:
    """The refusal of a photo that shows no target."""
    return ScribeError(
        "photo-no-marks",
        what="no marks of a target were found in the photo",
        where=photo.name,
        do="lay the printed target under what is traced, hold the phone still, and take the photo"
        " so that the whole sheet is in it, and not mirrored{or a board}",
    )


def _few_marks(photo: Photo, count: int) -> ScribeError:
    return ScribeError(
        "photo-few-marks",
        what=f"only {count} markers were found that agree with each other,"
        f" {FEWEST_MARKERS} at least are needed",
        where=photo.name,
        do="uncover the marks, get closer, hold the phone still, and take the photo again",
    )
