"""Seen: a photo with its solved camera, and what it tells when asked.

In: the photo, its camera, what is to be traced. Out: traces and outlines at a height, the thing
and the shadow that tell of that height, and facts in words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.outline_file import read_polyline
from scribe.print_scale import PrintScale
from scribe.recipes.drawn import Drawn
from scribe.recipes.height import KnownHeight
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.edges.cast_shadow import Shadow
    from scribe.capture.edges.near_side import Side
    from scribe.capture.edges.thing import Thing
    from scribe.capture.photo import Photo
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.pose.orient import Oriented
    from scribe.capture.sheet.paper import PaperSize
    from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]

_HIGHEST = 0.5  # of the camera's own height


@dataclass(frozen=True)
class Seen:
    """A photo with its camera. source: what is traced in it. sheet: the view at height 0."""

    source: PhotoSource
    photo: Photo
    oriented: Oriented
    sheet: PhotoView
    paper: PaperSize
    scale: PrintScale

    def trace(self, height: float) -> tuple[Trace, PhotoView]:
        """What the tracer finds on the plane at that height."""
        trace, view, _ = self._traced(height)
        return trace, view

    def _traced(self, height: float) -> tuple[Trace, PhotoView, View]:
        """What the tracer finds, the view on that plane, and the one it looked at."""
        from scribe.capture.photo_view import PhotoView

        camera = self.oriented.camera
        away = float(camera.position()[2])
        if height > _HIGHEST * away:
            raise ScribeError(
                "height-not-credible",
                what=f"a height of {height:g} mm can't be right: the camera itself was about"
                f" {away:.0f} mm above the sheet",
                where=self.photo.name,
                do="give the height of the traced edge above the sheet, in mm",
            )
        view = PhotoView(self.oriented, height)
        lit = self._evened(view)
        tracer = _tracer(self.source.of)
        if self.source.of == "line" and not self._pointed_at:
            way = camera.on_plane(camera.plane_pixels(self._line, 0.0), height)
            return tracer(lit, way=way), view, lit
        return tracer(lit, **self._pointed_at), view, lit

    def _evened(self, view: PhotoView) -> View:
        """The view without the shadow that may lie across the sheet."""
        from scribe.capture.edges.evened import evened

        return view if self._lit_sheet is self.sheet else evened(view)

    @cached_property
    def _lit_sheet(self) -> View:
        """The sheet, if it is ours, without the shadow that may lie across it."""
        from scribe.capture.edges.evened import evened

        return self.sheet if self.oriented.target.window is None else evened(self.sheet)

    @property
    def _told_sheet(self) -> View:
        """The sheet on which a side or a shadow tells of the height: against one that was stated
        no shadow across the sheet shall speak; where none was, a board's own soft shadow shall.
        """
        return self.sheet if self.source.height is None else self._lit_sheet

    @cached_property
    def _pointed_at(self) -> dict[str, Array]:
        """What the fitter said of where the outline runs, mm: its start, end and rough course."""
        start, end, near = self.source.start, self.source.end, self.source.near
        told = {"start": start, "end": end, "near": None if near is None else read_polyline(near)}
        return {name: np.array(each) for name, each in told.items() if each is not None}

    @cached_property
    def _line(self) -> Array:
        """(N, 2) mm: the rough way of a line that nobody pointed at, on the sheet's plane."""
        from scribe.capture.edges.wish import Wish
        from scribe.capture.lines.find import find_line

        return find_line(self._lit_sheet, Wish())

    def outline(self, height: KnownHeight) -> Drawn:
        """The outline with its budget; the building to the left of travel."""
        from scribe.capture.measure import Doubts, outline_of
        from scribe.capture.sheet.tone import black_growth

        found, view, lit = self._traced(height.height)
        tone = 0.0 if self.source.of == "line" else black_growth(self.sheet)
        doubts = Doubts(_scale_u(self.scale, self.paper), height.u, tone)
        origin = f"photo {self.photo.name}, {self.source.of}, height {height.words}"
        return Drawn(found, view, lit, doubts, outline_of(found, view, doubts, origin))

    def thing(self) -> Thing | None:
        """The board or card on the sheet whose edge is traced, or that carries the line."""
        from scribe.capture.edges.thing import thing_on

        if self.source.of == "gauge" or self.oriented.target.window is None:
            return None
        thing = thing_on(self._told_sheet)
        if thing is None or self.source.of == "edge":
            return thing
        pointed_at = list(self._pointed_at.values())
        line = np.vstack(pointed_at) if pointed_at else self._line
        return thing if thing.carries(line) else None

    def side(self, thing: Thing) -> Side | None:
        """The side of a board or card on the sheet, if the photo shows it."""
        from scribe.capture.edges.near_side import side_seen

        return side_seen(self._told_sheet, thing, self.oriented.camera.position())

    def shadow(self, thing: Thing) -> Shadow | None:
        """The shadow beside it, if there is one."""
        from scribe.capture.edges.cast_shadow import shadow_seen

        return shadow_seen(self._told_sheet, thing)

    def facts(self) -> dict[str, str]:
        """What was found of photo, sheet and camera, in words."""
        oriented, source = self.oriented, self.source
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
            "print scale": _scale_words(self.scale, self.paper) + self._aspect_words(),
            **({"sheet bent by": f"{oriented.bend_mm:.1f} mm"} if oriented.bend_mm else {}),
        }

    def _aspect_words(self) -> str:
        (x, y), (told_x, told_y) = self.oriented.scale, self.scale.factors
        wider = (x / told_x) / (y / told_y) - 1.0
        if not wider:
            return ""
        return f"; the camera has x longer than y by {100 * wider:+.1f} %: read both check bars"


def _tracer(kind: str) -> Callable[..., Trace]:
    if kind == "gauge":
        from scribe.capture.gauge.trace import trace_gauge

        return trace_gauge
    if kind == "line":
        from scribe.capture.lines.trace import trace_line

        return trace_line
    from scribe.capture.edges.edge import trace_edge

    return trace_edge


def _scale_words(scale: PrintScale, paper: PaperSize) -> str:
    if scale.checked or paper.print_x is None or paper.print_y is None:
        return scale.words
    off = [f"{100 * (factor - 1):+.1f} %" for factor in (paper.print_x, paper.print_y)]
    return f"{scale.words}; the paper's edges would have it {off[0]} by {off[1]}"


def _scale_u(scale: PrintScale, paper: PaperSize) -> tuple[float, float]:
    """Of a print nobody measured, U reaches at least as far as the paper's edges may say."""
    if scale.checked:
        return scale.u
    x, y = (off / 2.0 for off in paper.may_be_off())
    return max(scale.u_x, x), max(scale.u_y, y)
