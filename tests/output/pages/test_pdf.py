"""Pages of a PDF, rendered: the ink lies where the drawing has it."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from scribe.geom.frames import turned
from scribe.output.pages.cover_joining import crosses_told
from scribe.output.pages.pdf import template_pdf
from scribe.output.pages.pdf_sheet import BAR_MM
from scribe.output.piece.pictogram import SIZE, in_place
from scribe.output.piece.table import removal_rows
from scribe.output.sheets.sheets import FOOT_MM
from scribe.output.sheets.template import lay_out
from scribe.piece import Piece
from tests.output.drawn import A4, DPI, PT_PER_MM, drawn, planned


@pytest.mark.parametrize("mirrored", [False, True])
def test_pdf_pages_are_true_to_size(piece: Piece, mirrored: bool) -> None:
    """Pages rendered at 150 dpi: the cut line is black where the drawing has it, to 0.1 mm.

    A line 0.5 mm wide is 3 px; a shift of 0.35 mm would leave the middle of it white.
    """
    drawing = drawn(piece, mirrored=mirrored)
    face = lay_out(drawn(piece), piece, A4)
    plan = face.mirrored() if mirrored else face
    content = template_pdf(drawing, in_place(piece, SIZE), piece, plan, A4)
    assert content == template_pdf(drawing, in_place(piece, SIZE), piece, plan, A4)
    assert b"/PrintScaling /None" in content
    document = pypdfium2.PdfDocument(content)
    covers = len(document) - len(plan.sheets)
    assert covers >= 1
    for sheet in plan.sheets:
        page = document[covers + sheet.number - 1]
        width, height = (side / PT_PER_MM for side in page.get_size())
        assert (width, height) == pytest.approx(sheet.size, abs=0.01)
        grey = page.render(scale=DPI / 72).to_pil().convert("L")
        ink = np.asarray(grey) < 128

        def at(x: float, y: float, ink: np.ndarray = ink, height: float = height) -> bool:
            row, column = (height - y) * DPI / 25.4, x * DPI / 25.4
            return bool(ink[int(row), int(column)])

        corner = (10.0 - sheet.box[0], 10.0 + FOOT_MM - sheet.box[1])
        page_from_drawing = turned(sheet.turn, corner)
        for path in drawing.layer("cut").paths:
            if path.kind != "cut":
                continue
            points = path.points[1:-1:7]
            for x, y in page_from_drawing.apply(points[sheet.shows(points, 1.0)]):
                assert at(x, y), (x, y)
        text = page.get_textpage().get_text_bounded()
        assert f"{sheet.number}/{len(plan.sheets)}" in text
        assert ("MIRRORED" in text) == mirrored
        bar = [at(10.0 + tick, 10.0 + 3.0) for tick in range(10, BAR_MM, 10)]
        assert all(bar)
    cover = document[0].get_textpage().get_text_bounded()
    assert piece.name in cover
    assert "Cautions" in cover
    pages = [page.get_textpage().get_text_bounded() for page in list(document)[:covers]]
    front = " ".join(" ".join(pages).split())
    assert len(plan.crosses) > 1
    for cross in plan.crosses[1:]:
        page = document[covers + cross.sheet - 1].get_textpage().get_text_bounded()
        assert f"cross {cross.number}: {cross.distance:g} mm from cross 1" in page
        row = f"{cross.number} {cross.sheet} {cross.distance:g} "
        step = f"from cross 1 to cross {cross.number}: it must be {cross.distance:g} mm"
        assert (row if crosses_told(plan) else step) in front
    for cut in piece.cuts:
        for row in removal_rows(cut):
            assert row[1] in front


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_cut_on_paper_lies_where_it_was_drawn(made: dict[str, Piece], mirrored: bool) -> None:
    """The centre of the ink across the cut line, page by page, against the drawing: 0.1 mm.

    Rendered at 300 dpi a pixel is 0.085 mm, so that the centre of a line 0.5 mm wide is
    known to a few hundredths. A page shifted by a single pixel more would fail.
    """
    piece, dpi = made["long strip"], 300
    drawing = drawn(piece, mirrored=mirrored)
    plan = planned(piece, mirrored=mirrored)
    document = pypdfium2.PdfDocument(template_pdf(drawing, in_place(piece, SIZE), piece, plan, A4))
    covers = len(document) - len(plan.sheets)
    line = np.vstack([path.points for path in drawing.layer("cut").paths if path.kind == "cut"])
    line = line[np.argsort(line[:, 0])]
    stations = [(text.at[0], text.at[1]) for text in drawing.layer("stations").texts]
    looked = 0
    for sheet in plan.sheets:
        page = document[covers + sheet.number - 1]
        grey = np.asarray(page.render(scale=dpi / 72).to_pil().convert("L"), float) / 255.0
        for x in np.arange(sheet.box[0] + 12.0, sheet.box[2] - 12.0, 17.0):
            near = np.abs(line[:, 0] - x) < 2.0
            if near.sum() < 4 or any(abs(x - place) < 6.0 for place, _ in stations):
                continue
            y = float(np.interp(x, line[:, 0], line[:, 1]))
            column = int((x - sheet.box[0] + 10.0) * dpi / 25.4)
            x_seen = (column + 0.5) * 25.4 / dpi - 10.0 + sheet.box[0]
            y = float(np.interp(x_seen, line[:, 0], line[:, 1]))
            row = (sheet.size[1] - 10.0 - FOOT_MM - (y - sheet.box[1])) * dpi / 25.4
            rows = np.arange(int(row) - 5, int(row) + 6)
            ink = np.where(grey[rows, column] < 0.6, 1.0 - grey[rows, column], 0.0)
            if ink.sum() > 8.0:  # a line of the hatching or of the blank runs into it
                continue
            centre = float((ink * (rows + 0.5)).sum() / ink.sum())
            assert abs(centre - row) * 25.4 / dpi < 0.1, (sheet.number, x)
            looked += 1
    assert looked > 10
