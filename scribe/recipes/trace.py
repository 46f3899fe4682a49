"""Photo -> outline: decode, orient, trace, and say how sure it is."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from scribe.camera_file import read_camera
from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_bytes, write_text
from scribe.job import PhotoSource
from scribe.outline import Outline, axis_facing, side_facing
from scribe.outline_file import outline_csv, outline_json, read_polyline
from scribe.print_scale import UNCHECKED, PrintScale
from scribe.quantity import format_u
from scribe.recipes.advice import acts, advice
from scribe.recipes.quantities import Quantity, bow, chord

if TYPE_CHECKING:
    from scribe.capture.paper import PaperSize
    from scribe.capture.view import Trace

Progress = Callable[[str], None]

# Standard uncertainty of a height that was stated: a thickness taken with a rule or a slide.
STATED_HEIGHT_U = 0.1
_HIGHEST = 0.5  # of the camera's own height
# A height that was not stated: (taken as, its standard uncertainty) mm. A pencil line lies in
# the sheet's plane or on the board that is taped over it; gauge pins lie some millimetres
# up (common practice, no source); a cut edge may be a card or a worktop.
UNSTATED_HEIGHT = {"line": (0.0, 0.3), "gauge": (5.0, 2.5), "edge": (0.0, 12.0)}


@dataclass(frozen=True)
class Traced:
    """facts: name -> words, for the report; advice: sentences; overlay: a PNG."""

    outline: Outline
    facts: Mapping[str, str]
    advice: tuple[str, ...]
    overlay: bytes

    def result_lines(self) -> list[str]:
        """What the fitter wants to know first."""
        shape, whole = self.outline.shape_alone(), self.outline
        return [
            f"outline: {_said(chord(whole))} from end to end, bow {_said(bow(whole))}",
            f"U (k = 2) of its shape: {_u_words(shape)}",
            f"U (k = 2) of its place on the sheet: {_u_words(whole)}",
        ]

    def summary(self) -> dict[str, Any]:
        """The key figures for another program; U is with k = 2."""
        shape = self.outline.shape_alone()
        return {
            "points": len(self.outline),
            "chord_mm": _quantity_json(chord(self.outline)),
            "bow_mm": _quantity_json(bow(self.outline)),
            "u95_mm": _spread(self.outline.U),
            "shape_u95_mm": _spread(shape.U),
            "bridged_points": int((~self.outline.measured).sum()),
            "budget_u_mm": _budget_json(self.outline),
            "shape_budget_u_mm": _budget_json(shape),
            "facts": dict(self.facts),
            "advice": list(self.advice),
        }


def _said(quantity: Quantity) -> str:
    return format_u(quantity.value, 2.0 * quantity.u)


def _quantity_json(quantity: Quantity) -> dict[str, float]:
    return {"value": round(quantity.value, 3), "u95": round(2.0 * quantity.u, 4)}


def _spread(values: npt.NDArray[np.float64]) -> dict[str, float]:
    return {
        "median": round(float(np.median(values)), 4),
        "worst": round(float(values.max()), 4),
    }


def _budget_json(outline: Outline) -> dict[str, dict[str, float]]:
    """Each entry: its root mean square, its largest, and its share of u squared in percent."""
    total = float(sum((part**2).mean() for part in outline.budget.values())) or 1.0
    return {
        name: {
            "rms": round(float(np.sqrt((part**2).mean())), 4),
            "worst": round(float(part.max()), 4),
            "share": round(100.0 * float((part**2).mean()) / total, 1),
        }
        for name, part in outline.budget.items()
    }


def trace(source: PhotoSource, progress: Progress = lambda _: None) -> Traced:
    """Trace one photo. Refuses what can't be measured, with the reason."""
    from scribe.capture.measure import Doubts, outline_of
    from scribe.capture.orient import orient
    from scribe.capture.overlay import draw_overlay
    from scribe.capture.paper import check_print_size
    from scribe.capture.photo import read_photo
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.tone import black_growth
    from scribe.target_file import read_target

    if len(source.photos) != 1:
        raise ScribeError(
            "photo-one-at-a-time",
            what=f"{len(source.photos)} photos were given for one outline",
            where=", ".join(path.name for path in source.photos) or "photos",
            do="give one photo that shows the whole outline on one sheet",
        )
    path = source.photos[0]
    board = read_target(source.target) if source.target else None
    progress(f"reading {path.name}")
    photo = read_photo(path)
    progress("finding the marks and solving the camera")
    scale = source.print_scale or UNCHECKED
    known = read_camera(source.camera) if source.camera else None
    oriented = orient(photo, board=board, scale=scale.factors, known=known)
    sheet = PhotoView(oriented, 0.0)
    paper = check_print_size(sheet)
    taken_as, height_u = UNSTATED_HEIGHT[source.of]
    height = taken_as if source.height is None else source.height
    height_u = height_u if source.height is None else STATED_HEIGHT_U * (height > 0.0)
    _refuse_height(height, float(oriented.camera.position()[2]), path)
    view = PhotoView(oriented, height)
    progress(f"tracing the {source.of}")
    found = _tracer(source.of)(
        view,
        start=None if source.start is None else np.array(source.start),
        end=None if source.end is None else np.array(source.end),
        near=None if source.near is None else read_polyline(source.near),
    )
    stated = "not stated" if source.height is None else f"{height:g} mm"
    tone = 0.0 if source.of == "line" else black_growth(sheet)
    outline = outline_of(
        found,
        view,
        Doubts(_scale_u(scale, paper), height_u, tone),
        f"photo {path.name}, {source.of}, height {stated}",
    )
    building = source.building or "above"
    outline = outline.with_(
        solid=side_facing(outline.points, building, path.name), datum=axis_facing(building)
    )
    facts = {
        "photo": path.name,
        "traced": source.of,
        "sheet": oriented.target.name,
        "marks": f"{int(oriented.used.sum())} of {len(oriented.used)} used,"
        f" noise {oriented.noise_px:.2f} px, blur {oriented.blur_px:.1f} px",
        "camera": f"tilt {oriented.camera.tilt_deg():.0f} degrees, focal length"
        f" {oriented.camera.lens.f:.0f} px"
        + ("" if photo.exif.focal_px or known else " (not told by the file)")
        + (f", lens of {source.camera.name}" if source.camera else ""),
        "print scale": _scale_words(scale, paper),
        "height": stated,
        **found.facts,
    }
    possible = acts(
        scale_checked=source.print_scale is not None,
        height_stated=source.height is not None,
        lens_known=known is not None,
        photos=len(source.photos),
    )
    shape = outline.shape_alone()
    caption = f"{path.name}   {source.of}   U of the shape (k = 2) {_u_words(shape)}"
    overlay = draw_overlay(view, outline, caption)
    return Traced(outline, facts, advice(outline, possible), overlay)


def write_trace(traced: Traced, out: Path, *, force: bool) -> list[Path]:
    """Write outline.csv, outline.json and overlay.png into the folder."""
    ready_folder(out)
    names = ["outline.csv", "outline.json", "overlay.png"]
    refuse_existing([out / name for name in names], force=force)
    return [
        write_text(out / names[0], outline_csv(traced.outline)),
        write_text(out / names[1], outline_json(traced.outline)),
        write_bytes(out / names[2], traced.overlay),
    ]


def trace_json(traced: Traced, written: list[Path]) -> str:
    """The result for another program."""
    return json.dumps({**traced.summary(), "written": [str(path) for path in written]}, indent=2)


def _refuse_height(height: float, camera: float, path: Path) -> None:
    """A plane near or above the camera was typed wrongly."""
    if height > _HIGHEST * camera:
        raise ScribeError(
            "height-not-credible",
            what=f"a height of {height:g} mm can't be right: the camera itself was about"
            f" {camera:.0f} mm above the sheet",
            where=path.name,
            do="give the height of the traced edge above the sheet, in mm",
        )


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
    seen = [abs((factor or 1.0) - 1.0) / 2.0 for factor in (paper.print_x, paper.print_y)]
    return max(scale.u_x, seen[0]), max(scale.u_y, seen[1])


def _u_words(outline: Outline) -> str:
    return f"{np.median(outline.U):.2f} mm, at worst {outline.U.max():.2f} mm"
