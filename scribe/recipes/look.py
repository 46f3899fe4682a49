"""One photo looked at: decoded, oriented, its print and paper judged, and traced at a height."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from scribe.camera_file import read_camera
from scribe.errors import ScribeError
from scribe.job import PhotoSource
from scribe.outline import Outline
from scribe.outline_file import read_polyline
from scribe.print_scale import UNCHECKED, PrintScale
from scribe.quantity import format_u

if TYPE_CHECKING:
    from scribe.capture.orient import Oriented
    from scribe.capture.paper import PaperSize
    from scribe.capture.photo import Photo
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.view import Trace

Progress = Callable[[str], None]

# Standard uncertainty of a height that was stated: a thickness taken with a rule or a slide.
STATED_HEIGHT_U = 0.1
_HIGHEST = 0.5  # of the camera's own height
# A height that was not stated: (taken as, its standard uncertainty) mm. A pencil line lies in
# the sheet's plane or on the board that is taped over it; gauge pins lie some millimetres
# up (common practice, no source); a cut edge may be a card or a worktop.
UNSTATED_HEIGHT = {"line": (0.0, 0.3), "gauge": (5.0, 2.5), "edge": (0.0, 12.0)}
# Pins and boards are thick: what bounds them lies a little lower for a camera that looks at their
# ends than for one that looks over them (common practice, no source). mm, of a height found.
THICK_U = {"line": 0.02, "gauge": 0.3, "edge": 0.3}
_SETTLED_MM = 0.05  # a height found from several photos is traced at once more beyond this
_ROUNDS = 4
_JOINT = 2.5  # standard uncertainties by which a stated height and the photos may differ


@dataclass(frozen=True)
class KnownHeight:
    """The plane of the outline above the sheet, its standard uncertainty, and how it is known."""

    height: float
    u: float
    words: str


@dataclass(frozen=True)
class Drawn:
    """A trace with the view it was found in, and its outline in the sheet frame."""

    trace: Trace
    view: PhotoView
    outline: Outline


@dataclass(frozen=True)
class Seen:
    """A photo with its camera. sheet: the view at height 0."""

    photo: Photo
    oriented: Oriented
    sheet: PhotoView
    paper: PaperSize
    scale: PrintScale

    def trace(self, source: PhotoSource, height: float) -> tuple[Trace, PhotoView]:
        """What the tracer finds on the plane at that height."""
        from scribe.capture.photo_view import PhotoView

        camera = float(self.oriented.camera.position()[2])
        if height > _HIGHEST * camera:
            raise ScribeError(
                "height-not-credible",
                what=f"a height of {height:g} mm can't be right: the camera itself was about"
                f" {camera:.0f} mm above the sheet",
                where=self.photo.name,
                do="give the height of the traced edge above the sheet, in mm",
            )
        view = PhotoView(self.oriented, height)
        found = _tracer(source.of)(
            view,
            start=None if source.start is None else np.array(source.start),
            end=None if source.end is None else np.array(source.end),
            near=None if source.near is None else read_polyline(source.near),
        )
        return found, view

    def outline(self, source: PhotoSource, height: KnownHeight) -> Drawn:
        """The outline with its budget; the building to the left of travel."""
        from scribe.capture.measure import Doubts, outline_of
        from scribe.capture.tone import black_growth

        found, view = self.trace(source, height.height)
        tone = 0.0 if source.of == "line" else black_growth(self.sheet)
        doubts = Doubts(_scale_u(self.scale, self.paper), height.u, tone)
        origin = f"photo {self.photo.name}, {source.of}, height {height.words}"
        return Drawn(found, view, outline_of(found, view, doubts, origin))

    def facts(self, source: PhotoSource) -> dict[str, str]:
        """What was found of photo, sheet and camera, in words."""
        oriented = self.oriented
        told = self.photo.exif.focal_px is not None or source.camera is not None
        return {
            "photo": self.photo.name,
            "traced": source.of,
            "sheet": oriented.target.name,
            "marks": f"{int(oriented.used.sum())} of {len(oriented.used)} used,"
            f" noise {oriented.noise_px:.2f} px, blur {oriented.blur_px:.1f} px",
            "camera": f"tilt {oriented.camera.tilt_deg():.0f} degrees, focal length"
            f" {oriented.camera.lens.f:.0f} px"
            + ("" if told else " (not told by the file)")
            + (f", lens of {source.camera.name}" if source.camera else ""),
            "print scale": _scale_words(self.scale, self.paper),
            **({"sheet bent by": f"{oriented.bend_mm:.1f} mm"} if oriented.bend_mm else {}),
        }


def look(path: Path, source: PhotoSource, progress: Progress) -> Seen:
    """Read a photo and solve its camera."""
    from scribe.capture.orient import orient
    from scribe.capture.paper import check_print_size
    from scribe.capture.photo import read_photo
    from scribe.capture.photo_view import PhotoView
    from scribe.target_file import read_target

    board = read_target(source.target) if source.target else None
    known = read_camera(source.camera) if source.camera else None
    scale = source.print_scale or UNCHECKED
    progress(f"reading {path.name}")
    photo = read_photo(path)
    progress("finding the marks and solving the camera")
    oriented = orient(photo, board=board, scale=scale.factors, known=known)
    sheet = PhotoView(oriented, 0.0)
    return Seen(photo, oriented, sheet, check_print_size(sheet), scale)


def refuse_other_sheets(seen: Sequence[Seen]) -> None:
    """Several photos must show one sheet: nothing else holds them together."""
    names = {each.oriented.target.name: each.photo.name for each in seen}
    if len(names) > 1:
        said = ", ".join(f"{sheet} in {photo}" for sheet, photo in names.items())
        raise ScribeError(
            "photos-of-two-sheets",
            what=f"the photos show different sheets ({said})",
            where=", ".join(names.values()),
            do="give photos of one sheet, or trace each photo by itself",
        )


def known_height(seen: Sequence[Seen], source: PhotoSource, progress: Progress) -> KnownHeight:
    """The height as stated, as guessed, or as several photos from different sides tell it."""
    guess, guess_u = UNSTATED_HEIGHT[source.of]
    if source.height is None:
        before = KnownHeight(guess, guess_u, "not stated")
    else:
        u = STATED_HEIGHT_U * (source.height > 0.0)
        before = KnownHeight(source.height, u, f"{source.height:g} mm")
    if len(seen) == 1:
        return before
    from scribe.capture.several import height_from, refuse_moved

    names = ", ".join(each.photo.name for each in seen)
    height = before.height
    for _ in range(_ROUNDS):
        progress(f"comparing the photos at a height of {height:.1f} mm")
        pairs = [each.trace(source, height) for each in seen]
        found = height_from([trace for trace, _ in pairs], [view for _, view in pairs])
        found = replace(found, u=float(np.hypot(found.u, THICK_U[source.of])))
        step = _weighed(before, found.height, found.u) - height
        height += step
        if abs(step) < _SETTLED_MM:
            break
    refuse_moved(found, names)
    apart = abs(found.height - before.height)
    if apart > _JOINT * float(np.hypot(found.u, max(before.u, STATED_HEIGHT_U))):
        raise ScribeError(
            "height-contradicts",
            what=f"the photos say that it lies {format_u(found.height, 2 * found.u)} above the "
            f"sheet, and {before.words} is {apart:.1f} mm from that",
            where=names,
            do="correct --height or leave it out; if it is right, the thing was moved between the "
            "photos: take them again",
        )
    u = 1.0 / float(np.hypot(1.0 / found.u, 1.0 / max(before.u, 1e-6)))
    told = f", stated {before.words}" if source.height is not None else ""
    return KnownHeight(
        height, u, f"{format_u(found.height, 2 * found.u)} by {len(seen)} photos{told}"
    )


def _weighed(before: KnownHeight, found: float, u: float) -> float:
    """Stated and seen, each by its weight."""
    a, b = 1.0 / max(before.u, 1e-6) ** 2, 1.0 / u**2
    return (a * before.height + b * found) / (a + b)


def _tracer(kind: str) -> Callable[..., Trace]:
    if kind == "gauge":
        from scribe.capture.gauge import trace_gauge

        return trace_gauge
    if kind == "line":
        from scribe.capture.line import trace_line

        return trace_line
    from scribe.capture.edge import trace_edge

    return trace_edge


def _scale_words(scale: PrintScale, paper: PaperSize) -> str:
    if scale.checked or paper.print_x is None or paper.print_y is None:
        return scale.words
    off = [f"{100 * (factor - 1):+.1f} %" for factor in (paper.print_x, paper.print_y)]
    return f"{scale.words}; the paper's edges would have it {off[0]} by {off[1]}"


def _scale_u(scale: PrintScale, paper: PaperSize) -> tuple[float, float]:
    """Of a print nobody measured, U reaches at least as far as the paper's edges say."""
    if scale.checked:
        return scale.u
    x, y = (abs((factor or 1.0) - 1.0) / 1.5 for factor in (paper.print_x, paper.print_y))
    return float(np.hypot(scale.u_x, x)), float(np.hypot(scale.u_y, y))
