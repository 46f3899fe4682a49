"""The printed target, read back by PDFium and decoded by OpenCV's own detector."""

from __future__ import annotations

import cv2
import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw

from scribe.capture.sheet.marker_bits import marker_bits
from scribe.output.target_sheet import black_boxes, target_pdf
from scribe.target import DICTIONARY, Form, Page, page

MM_PER_PT = 25.4 / 72  # ISO 32000-1, 8.3.2.3: user space unit 1/72 inch
PX_PER_MM = 12.0
PRINTS = [(paper, form) for paper in ("A4", "A3", "Letter") for form in ("window", "strip")]


def pdf_of(pages: list[Page]) -> bytes:
    ids = {int(n) for sheet in pages for target, _ in sheet.targets for n in target.ids}
    return target_pdf(pages, marker_bits(DICTIONARY, ids))


def render(pdf: bytes, number: int = 0, px_per_mm: float = PX_PER_MM) -> np.ndarray:
    document = pypdfium2.PdfDocument(pdf)
    picture = document[number].render(scale=px_per_mm * MM_PER_PT, grayscale=True).to_numpy()
    document.close()
    return picture.reshape(picture.shape[:2])


def px(points: np.ndarray, sheet: Page, picture: np.ndarray) -> np.ndarray:
    """Page frame (mm, y up) to pixels with centres at whole numbers, y down.

    PDFium rounds the page up to whole pixels and stretches it to fill them, so the scale
    comes from the picture.
    """
    height, width = picture.shape
    scale = np.array([width / sheet.size[0], -height / sheet.size[1]])
    return points * scale + np.array([0.0, height]) - 0.5


@pytest.mark.parametrize(("paper", "form"), PRINTS)
def test_page_has_the_size_of_the_paper_and_asks_not_to_be_scaled(paper: str, form: Form) -> None:
    # ISO 216 (A4 210 x 297, A3 297 x 420) and 8.5 x 11 inch (ANSI/ASME Y14.1, from memory).
    portrait = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}[paper]
    expected = portrait if form == "window" else portrait[::-1]
    document = pypdfium2.PdfDocument(pdf_of([page(paper, form, 1), page(paper, form, 2)]))
    assert len(document) == 2
    for sheet in document:
        assert np.allclose(np.array(sheet.get_mediabox()[:2]), 0.0)
        assert np.array(sheet.get_mediabox()[2:]) * MM_PER_PT == pytest.approx(expected, abs=0.01)
    # ISO 32000-1, 12.2, viewer preferences: PrintScaling is AppDefault unless it says None.
    assert raw.FPDF_VIEWERREF_GetPrintScaling(document) == 0
    document.close()


def test_viewers_own_default_would_be_noticed() -> None:
    from io import BytesIO

    from reportlab.pdfgen.canvas import Canvas

    stream = BytesIO()
    canvas = Canvas(stream)
    canvas.drawString(10, 10, "another page")
    canvas.save()
    document = pypdfium2.PdfDocument(stream.getvalue())
    assert raw.FPDF_VIEWERREF_GetPrintScaling(document) != 0
    document.close()


@pytest.mark.parametrize(("paper", "form"), PRINTS)
def test_crossings_are_printed_where_the_target_says(paper: str, form: Form) -> None:
    sheet = page(paper, form, 1)
    picture = render(pdf_of([sheet]))
    for target, origin in sheet.targets:
        stated = px(target.crossings + origin, sheet, picture).astype(np.float32)
        # A saddle point found by OpenCV in a window of 2.5 mm, well inside the markers' gap.
        criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 100, 1e-4)
        half = round(1.1 * PX_PER_MM)
        found = cv2.cornerSubPix(
            picture, stated.reshape(-1, 1, 2).copy(), (half, half), (-1, -1), criteria
        )
        off = np.hypot(*(found.reshape(-1, 2) - stated).T) / PX_PER_MM
        assert off.max() < 0.02


@pytest.mark.parametrize(
    ("paper", "form"),
    [
        pytest.param(*each, marks=pytest.mark.slow) if each[0] == "A3" else each  # a large picture
        for each in PRINTS
    ],
)
def test_every_marker_decodes_at_its_place(paper: str, form: Form) -> None:
    sheet = page(paper, form, 2)
    picture = render(pdf_of([sheet]))
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(picture)
    seen = {}
    for quad, number in zip(corners, np.ravel(ids), strict=True):
        seen[int(number), tuple(np.round(quad.reshape(4, 2).mean(axis=0) / 30).astype(int))] = quad
    count = 0
    for target, origin in sheet.targets:
        for marker, number in zip(target.markers, target.ids, strict=True):
            stated = px(marker + origin, sheet, picture)
            near = [q.reshape(4, 2) for (n, _), q in seen.items() if n == int(number)]
            off = [np.abs(quad - stated).max() for quad in near]
            # In order from the upper left: the detector's corners lie within two pixels.
            assert off
            assert min(off) < 2.0
            count += 1
    assert count == len(seen)


def test_pages_of_a_print_differ_in_their_marks() -> None:
    pages = [page("A4", "window", 1), page("A4", "window", 2)]
    pdf = pdf_of(pages)
    first, second = render(pdf, 0, 4.0), render(pdf, 1, 4.0)
    target = pages[0].targets[0][0]
    for number, corners in zip(target.ids, target.markers, strict=True):
        low, high = corners[3], corners[1]
        rows = slice(int((297 - high[1]) * 4), int((297 - low[1]) * 4))
        columns = slice(int(low[0] * 4), int(high[0] * 4))
        same = np.array_equal(first[rows, columns], second[rows, columns])
        assert same == (number < 300)


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_window_is_blank_and_margin_print_stays_off_the_marks(paper: str) -> None:
    sheet = page(paper, "window", 1)
    target = sheet.targets[0][0]
    picture = render(pdf_of([sheet]))
    assert target.window is not None
    x0, y0, x1, y1 = target.window
    (a, d), (c, b) = px(np.array([[x0, y0], [x1, y1]]), sheet, picture)
    assert (picture[int(b) + 2 : int(d) - 1, int(a) + 2 : int(c) - 1] == 255).all()
    # A millimetre of white all round the ring: nothing printed in the margins touches it.
    low, high = target.squares[:, :2].min(axis=0), target.squares[:, 2:].max(axis=0)
    for grow in (0.2, 0.6, 1.0):
        (a, d), (c, b) = px(np.array([low - grow, high + grow]), sheet, picture).round().astype(int)
        ring = [picture[b, a : c + 1], picture[d, a : c + 1], picture[b : d + 1, a]]
        ring.append(picture[b : d + 1, c])
        assert all((side == 255).all() for side in ring)
    # Most printers leave 4.2 mm blank at the edge of the paper (common practice, no source).
    edge = round(4.2 * PX_PER_MM)
    inside = picture[edge:-edge, edge:-edge]
    assert (picture == 255).sum() - (inside == 255).sum() == picture.size - inside.size


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_strip_prints_between_its_bands_only(paper: str) -> None:
    sheet = page(paper, "strip", 1)
    picture = render(pdf_of([sheet]))
    for target, origin in sheet.targets:
        assert target.window is not None
        x0, y0, x1, y1 = target.window
        for y in (y0 + 0.5, y1 - 0.5):
            ends = px(np.array([[x0 + 0.2, y], [x1 - 0.2, y]]) + origin, sheet, picture).round()
            (a, row), (c, _) = ends.astype(int)
            assert (picture[row, a:c] == 255).all()


@pytest.mark.parametrize("form", ["window", "strip"])
def test_words_tell_name_scale_and_wall(form: Form) -> None:
    sheet = page("A4", form, 1)
    document = pypdfium2.PdfDocument(pdf_of([sheet]))
    text = document[0].get_textpage().get_text_bounded()
    document.close()
    for target, _ in sheet.targets:
        assert target.name in text
    assert "lay a steel rule on this bar: 0 to 150 must be 150.0 mm" in text
    assert ("THIS EDGE TOWARDS THE WALL" in text) == (form == "window")


def test_check_bars_are_150_mm_long() -> None:
    sheet = page("A4", "window", 1)
    picture = render(pdf_of([sheet]), px_per_mm=40.0)
    scale = picture.shape[1] / 210.0
    target = sheet.targets[0][0]
    low = target.squares[:, :2].min(axis=0)
    # Across the longest ticks of the bar below the ring, 2.3 mm under its line.
    row = picture[round((297 - (low[1] - 1.4 - 2.3)) * scale)] < 128
    column = picture[:, round((low[0] - 1.4 - 2.3) * scale)] < 128
    for line in (row, column):
        inked = np.flatnonzero(line)
        first = inked[inked < inked[0] + 20]
        last = inked[inked > inked[-1] - 20]
        length = (last.mean() - first.mean()) / scale
        assert length == pytest.approx(150.0, abs=0.03)  # one pixel of this rendering


def test_same_pages_make_the_same_bytes() -> None:
    assert pdf_of([page("A4", "strip", 1)]) == pdf_of([page("A4", "strip", 1)])


def test_boxes_cover_the_black_modules_exactly_once() -> None:
    rng = np.random.default_rng(7)
    for _ in range(50):
        modules = rng.random((7, 7)) < 0.6
        cover = np.zeros((7, 7), int)
        for column, row, columns, rows in black_boxes(modules):
            cover[row : row + rows, column : column + columns] += 1
        assert np.array_equal(cover, modules.astype(int))


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_crosses_for_the_tape_are_printed_where_the_target_says(paper: str) -> None:
    sheet = page(paper, "strip", 1)
    picture = render(pdf_of([sheet]), px_per_mm=20.0)
    for target, origin in sheet.targets:
        assert sorted(target.crosses) == ["A", "B"]
        for point in target.crosses.values():
            ((x, y),) = px(np.array([point]) + origin, sheet, picture)
            # Hairs of 3 mm each way; between the ring (1.5 mm) and their ends nothing else is dark.
            for reach in (2.0, 2.5):
                row = picture[round(y) - 12 : round(y) + 13, round(x + reach * 20)] < 128
                column = picture[round(y + reach * 20), round(x) - 12 : round(x) + 13] < 128
                for line in (row, column):
                    assert np.flatnonzero(line).mean() == pytest.approx(12.0, abs=1.0)
