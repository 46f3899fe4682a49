"""Every sheet that a photo shows, with its crossings measured: for runs of many strips.

Markers of one sheet are told from those of the next by where they lie: from the corners of
a place marker it follows where its sheet's other place markers must be, and markers that
find each other so are of one sheet, whatever else lies beside it. A sheet that is seen in
part counts with what is seen of it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo
from scribe.capture.pose.camera import resect
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.pose.mark_places import measure_marks
from scribe.capture.pose.orient import FEWEST_POINTS, FLOOR_PX, first_camera, trusted
from scribe.capture.run.photo_marks import PhotoMarks, SheetMarks
from scribe.capture.sheet.marks import (
    FEWEST_MARKERS,
    Search,
    Sighting,
    agreeing,
    detect,
    kind_of,
    named,
    no_marks,
)
from scribe.capture.sheet.sheet_number import with_number
from scribe.errors import ScribeError
from scribe.target import DICTIONARY, NUMBER_BASE, Target, strip_sheet, window_sheet

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_SEARCHES = (
    Search(2000, range(NUMBER_BASE), thorough=False),
    Search(4000, range(NUMBER_BASE), thorough=True, smallest=0.01),  # a run from further back
)
_MOST_MARKERS = 0.6  # of those that must lie in the photo: fewer, and a larger copy is searched
_BENT = 0.7  # sides of a marker by which a lens may bend a strip
_NEAR_MM = 70.0  # how far from marker to marker a sheet is followed
_OFF_MM, _OFF_PART = 2.0, 0.15  # how far off the next one may be, and of the way to it


def sheets_seen(photo: Photo, prior: LensPrior, scale: tuple[float, float]) -> PhotoMarks:
    """Measure every sheet in the photo; refuses a photo without any, and one sheet seen twice."""
    found: list[Sighting] = []
    for search in _SEARCHES:
        factor = min(search.long_side / max(photo.size), 1.0)
        ids, corners = detect(photo, factor, DICTIONARY, search)
        found = _groups(photo, ids, corners)
        if factor == 1.0 or (found and all(_well_found(photo, part) for part in found)):
            break
    if not found:
        raise no_marks(photo)
    refusals: list[ScribeError] = []
    sheets: list[tuple[SheetMarks, Array]] = []
    for sighting in found:
        try:
            sheets.append(_measured(photo, sighting, prior, np.array(scale)))
        except ScribeError as error:
            refusals.append(error)
    if not sheets:
        raise refusals[0]
    refuse_twice(photo.name, [marks.sheet for marks, _ in sheets])
    blur = float(np.median(np.concatenate([blur for _, blur in sheets])))
    ordered = tuple(sorted((marks for marks, _ in sheets), key=lambda marks: marks.sheet))
    return PhotoMarks(photo.name, photo.size, prior, ordered, photo.exif.orientation, blur)


def form_seen(photo: Photo) -> str:
    """The form, window or strip, that most place markers are of; refuses a photo without any."""
    for search in _SEARCHES:
        ids, _ = detect(photo, min(search.long_side / max(photo.size), 1.0), DICTIONARY, search)
        votes = Counter(kind_of(int(identity))[1] for identity in ids)
        if votes.total() >= FEWEST_MARKERS:
            return votes.most_common(1)[0][0]
    raise no_marks(photo)


def refuse_twice(where: str, numbers: Sequence[int]) -> None:
    """Two prints of one sheet can't be told apart from photo to photo."""
    twice = sorted({number for number in numbers if numbers.count(number) > 1})
    if twice:
        raise ScribeError(
            "sheet-twice",
            what=f"the photo shows sheet no. {twice[0]} twice",
            where=where,
            do="use every sheet of a print once only: take one of the two away and print"
            " {another sheet}",
        )


def _groups(photo: Photo, ids: Ints, corners: Array) -> list[Sighting]:
    """The place markers sorted into the sheets they belong to."""
    sightings = []
    for form, paper in sorted({kind_of(int(identity))[::-1] for identity in ids}):
        sheet = _sheet(form, paper)
        seen = named(sheet, ids, corners)
        parts: list[Sighting] = []
        for members in _together(sheet.markers[seen.index], seen.corners):
            if len(members) < FEWEST_MARKERS:
                continue
            part = Sighting(sheet, seen.index[members], seen.corners[members])
            try:
                parts.append(agreeing(photo, part))
            except ScribeError:
                continue  # a few misread markers are no sheet
        sightings += _joined(parts)
    return sightings


def _sheet(form: str, paper: str) -> Target:
    return window_sheet(paper, 1) if form == "window" else strip_sheet(paper, 1)


def _together(markers: Array, corners: Array) -> list[Ints]:
    """Groups of markers that agree on where each other must be.

    markers: (K, 4, 2) mm on the sheet, corners: (K, 4, 2) px. Each marker's own corners give
    mm from px (affine), and so the way to another one as it would be on the sheet.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    middle_mm, middle_px = markers.mean(axis=1), corners.mean(axis=1)
    side_mm = markers - middle_mm[:, None]
    side_px = corners - middle_px[:, None]
    mm_from_px = np.linalg.pinv(side_px) @ side_mm  # (K, 2, 2), row vectors
    way_px = middle_px[None] - middle_px[:, None]
    way_mm = np.einsum("ijk,ikl->ijl", way_px, mm_from_px)
    printed = middle_mm[None] - middle_mm[:, None]
    length = np.linalg.norm(printed, axis=2)
    off = np.linalg.norm(way_mm - printed, axis=2)
    fits = (off < _OFF_MM + _OFF_PART * length) & (length < _NEAR_MM) & (length > 0.0)
    linked = coo_array(fits & fits.T)
    _, label = connected_components(linked, directed=False)
    return [np.flatnonzero(label == one) for one in range(int(label.max(initial=-1)) + 1)]


def _joined(parts: list[Sighting]) -> list[Sighting]:
    """Parts of one sheet between which no marker was found, put together again.

    Two parts are of one sheet when they share no marker and one homography holds for both.
    """
    whole: list[Sighting] = []
    for part in sorted(parts, key=lambda each: -len(each.index)):
        for k, other in enumerate(whole):
            index = np.concatenate([other.index, part.index])
            both = Sighting(part.target, index, np.concatenate([other.corners, part.corners]))
            if len(set(index.tolist())) == len(index) and _misfit(both) < _BENT:
                whole[k] = both
                break
        else:
            whole.append(part)
    return whole


def _misfit(seen: Sighting) -> float:
    """Worst corner off one homography, in sides of a marker."""
    mapped = _mapped(seen, seen.points())
    side = np.linalg.norm(seen.corners - np.roll(seen.corners, 1, axis=1), axis=2)
    return float(np.abs(mapped - seen.pixels()).max() / np.median(side))


def _well_found(photo: Photo, seen: Sighting) -> bool:
    """Whether most of the place markers that must lie in the photo were found."""
    target = seen.target
    pixels = _mapped(seen, target.markers[target.is_place].mean(axis=1))
    inside = np.all((pixels > 0.0) & (pixels < np.array(photo.size)), axis=1)
    return bool(len(seen.index) >= _MOST_MARKERS * inside.sum())


def _mapped(seen: Sighting, points: Array) -> Array:
    """(N, 2) px of places (N, 2) on the sheet, by the homography of the markers seen."""
    matrix, _ = cv2.findHomography(seen.points(), seen.pixels(), 0)
    return np.asarray(cv2.perspectiveTransform(points[None], matrix)[0], dtype=np.float64)


def _measured(
    photo: Photo, seen: Sighting, prior: LensPrior, stretch: Array
) -> tuple[SheetMarks, Array]:
    """The crossings of one sheet that agree with a camera of their own, and their blur."""
    rough = first_camera(photo, seen, stretch, prior)
    points, found = measure_marks(photo, seen, rough, stretch)
    good = found.good.copy()
    if good.sum() >= FEWEST_POINTS:
        u = np.hypot(found.u[good], FLOOR_PX)
        solved = resect(points[good], found.pixels[good], u, prior, rough)
        good[good] = trusted(solved)
    if good.sum() < FEWEST_POINTS:
        raise ScribeError(
            "photo-few-crossings",
            what=f"only {int(good.sum())} marks of a sheet are sharp enough to measure,"
            f" {FEWEST_POINTS} at least are needed",
            where=photo.name,
            do="get closer, avoid glare, and take the photo again",
        )
    target = with_number(
        photo, seen.target, lambda at: solved.camera.plane_pixels(at, 0.0), stretch
    )
    u = np.hypot(found.u[good], FLOOR_PX)
    marks = SheetMarks(target, points[good] / stretch, found.pixels[good], u)
    return marks, found.blur[good]
