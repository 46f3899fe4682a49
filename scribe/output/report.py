"""One page for a job: what was measured, how sure it is, and what to take off where.

A single HTML file that opens without a network: pictures are data URIs, plots and drawings
inline SVG, no scripts. Rendered by jinja2 with autoescape; numbers go through quantity.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scribe.budget import entries
from scribe.outline import Outline
from scribe.output.cautions import CAUTIONS
from scribe.output.fact_words import told
from scribe.output.html import fill
from scribe.output.pages.mark_picture import mark_picture
from scribe.output.pages.mark_sheet import STEPS, hook_words, joins, needs_template
from scribe.output.piece.drawing import Picture
from scribe.output.piece.holes import hole_lines
from scribe.output.piece.passes import pass_lines, tight_lines
from scribe.output.piece.svg import picture_svg
from scribe.output.piece.table import HEADINGS, removal_rows
from scribe.output.piece.way_in_picture import way_in_picture, way_in_words
from scribe.output.plot import deviation_plot
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece
from scribe.quantity import format_mm, format_usual_and_worst

_DATUMS = {
    "least squares": "least-squares line",
    "minimum zone": "minimum-zone line",
    "two points": "line through two points",
    "sheet axis": "line it was measured from",
}
_FITS = 600.0  # mm of a drawing whose words can be read when it is as wide as the page
_PX = 1.6  # pixels to a mm of a larger one: its smallest words are some 6 pixels high
_TRIFLE_MM = 0.0005  # of U: it would be printed as nothing
_WAY_IN = (170.0, 75.0)  # mm, the most that the way in may take


@dataclass(frozen=True)
class TraceReport:
    """One outline: its name, the outline as shaped, what was found, advice, overlay (PNG).

    straightness: in words with its U, may be empty. assumes: what U takes for granted that nothing
    shows, without the last stop.
    """

    name: str
    outline: Outline
    facts: Mapping[str, str]
    advice: tuple[str, ...]
    overlay: bytes | None
    straightness: str = ""
    assumes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PieceReport:
    """One piece with its drawing as SVG, a picture of it in place, the names of the files made for
    it, and its sheets.
    """

    piece: Piece
    svg: bytes
    in_place: Picture
    files: tuple[str, ...]
    sheets: SheetPlan


def report_html(title: str, traces: Sequence[TraceReport], pieces: Sequence[PieceReport]) -> str:
    """The page as text; the same for the same job."""
    return fill(
        "report.html",
        title=title,
        traces=[_trace(trace) for trace in traces],
        pieces=[_piece(number, each) for number, each in enumerate(pieces)],
        headings=[*HEADINGS[:4], "note"],
        cautions=CAUTIONS,
        mark_steps=STEPS,
    )


def _trace(trace: TraceReport) -> dict[str, object]:
    outline = trace.outline
    on_sheet = outline.datum.association == "sheet axis" and trace.overlay is not None
    datum = _DATUMS.get(outline.datum.association, outline.datum.association)
    rows = entries(outline)
    budget = [
        {
            "name": row.name,
            "kind": row.kind,
            "meaning": row.meaning,
            "typical": f"{2 * row.u_median:.3f}",
            "typical_share": f"{row.share_median:.0f}",
            "worst": f"{2 * row.u_worst:.3f}",
            "worst_share": f"{row.share_worst:.0f}",
        }
        for row in rows
        if 2.0 * max(row.u_median, row.u_worst) >= _TRIFLE_MM
    ]
    overlay = None
    if trace.overlay is not None:
        overlay = "data:image/png;base64," + base64.b64encode(trace.overlay).decode("ascii")
    return {
        "name": trace.name,
        "origin": outline.origin,
        "facts": told(trace.facts),
        "advice": trace.advice,
        "assumes": trace.assumes,
        "overlay": overlay,
        "U": format_usual_and_worst(float(np.median(outline.U)), float(np.max(outline.U))),
        "U_of": "of its place on the sheet" if on_sheet else f"from the {datum}",
        "U_differs": _why_not_the_photos(datum, on_sheet=on_sheet),
        "bridged": int((~outline.measured).sum()),
        "points": len(outline),
        "budget": budget,
        "trifles": len(budget) < len(rows),
        "plot": deviation_plot(outline, f"{trace.name}: deviation from its datum"),
        "datum": outline.datum.association if on_sheet else datum,
        "straightness": trace.straightness,
    }


def _why_not_the_photos(datum: str, *, on_sheet: bool) -> str:
    """Why the U above isn't the one that is written on the photo."""
    photos = "The U written on the photo is that of the traced shape by itself. The one above"
    if on_sheet:
        return f"{photos} counts where on the sheet it lies as well."
    return (
        f"{photos} is that of its distance from the {datum}, from which the piece is cut: where "
        f"the {datum} lies a little off, so does every distance from it."
    )


def _piece(number: int, each: PieceReport) -> dict[str, object]:
    piece = each.piece
    outer = piece.blank.shape.outer
    size = " x ".join(format_mm(float(s)) for s in outer.max(axis=0) - outer.min(axis=0))
    return {
        "name": piece.name,
        "size": size,
        "thickness": None if piece.blank.thickness is None else format_mm(piece.blank.thickness),
        "svg": _inline(each.svg, f"p{number}-"),
        "pan_px": _pan_px(each.svg),
        "in_place": picture_svg(each.in_place, f"{piece.name} in its place"),
        "files": each.files,
        "sheets": each.sheets.words,
        "on_paper": each.sheets.assembly.words if each.sheets.assembly else "",
        "notes": piece.notes,
        "way_in": _way_in(piece),
        "holes": hole_lines(piece),
        "cuts": [
            {
                "name": cut.name,
                "edge": cut.edge,
                "from_end": cut.from_end,
                "clearance": format_mm(cut.clearance, 2),
                "rows": removal_rows(cut),
                "passes": pass_lines(cut),
                "tight": tight_lines(cut),
                "hook": hook_words(piece, cut) if cut.marks else needs_template(cut),
                "how": picture_svg(mark_picture(cut), f"How to mark the {cut.edge} edge"),
                "marks": joins(cut),
            }
            for cut in piece.cuts
        ],
    }


def _way_in(piece: Piece) -> dict[str, str] | None:
    if piece.passage is None:
        return None
    words = way_in_words(piece.passage)
    return {"picture": picture_svg(way_in_picture(piece.passage, _WAY_IN), words), "words": words}


def _pan_px(svg: bytes) -> str:
    """How wide a drawing is shown whose words would be too small within the page; empty for one
    that fits, or whose size nobody knows.
    """
    box = re.search(rb'viewBox="([^"]*)"', svg)
    if box is None:
        return ""
    width, height = (float(each) for each in re.split(r"[ ,]+", box[1].decode("ascii"))[2:])
    return f"{width * _PX:.0f}" if max(width, height) > _FITS else ""


def _inline(svg: bytes, prefix: str) -> str:
    """The drawing as part of a page: no XML header, identities of its own, sized by the page."""
    text = svg.decode("utf-8").split("?>", 1)[1].strip()
    text = re.sub(r'\bid="([^"]*)"', rf'id="{prefix}\1"', text)
    head, rest = text.split(">", 1)
    return re.sub(r' (?:width|height)="[^"]*"', "", head) + ">" + rest
