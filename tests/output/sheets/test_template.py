"""Drawing, SVG, DXF, PDF and table of real pieces, judged by readers that did not write them."""

from __future__ import annotations

import csv
import io

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.job import PrintSettings
from scribe.output.pages.pdf import template_pdf
from scribe.output.piece.drawing import CheckDistance, Drawing, Layer, Path, text_box
from scribe.output.piece.mirror import mirror
from scribe.output.piece.pictogram import SIZE, in_place
from scribe.output.piece.table import removal_csv, removal_rows
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheet_view import sheet_view
from scribe.output.sheets.template import lay_out
from scribe.piece import Piece
from tests.output.drawn import PT_PER_MM, drawn, planned


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3", "Tabloid", "A0"])
def test_sheets_cover_what_is_cut(piece: Piece, paper: str) -> None:
    drawing = drawn(piece)
    plan = planned(piece, paper=paper)
    points = np.vstack([p.points for p in drawing.layer("cut").paths])
    assert np.any([sheet.shows(points) for sheet in plan.sheets], axis=0).all()
    letters = [mark.letter for joint in plan.joints for mark in joint.marks]
    assert len(set(letters)) == len(letters) == 2 * len(plan.joints)
    for joint in plan.joints:
        for mark in joint.marks:
            for number in (joint.upper, joint.lower):
                assert plan.sheets[number - 1].shows(mark.at[None]).all()


def framed(width: float, height: float) -> Drawing:
    """A frame and its diagonals."""
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    cut = Layer("cut", (Path(corners, "cut", closed=True), Path(corners[::2]), Path(corners[1::2])))
    return Drawing("box", (cut,), CheckDistance((0, 0), (width, 0), width))


def test_no_third_sheet_hides_a_match_mark() -> None:
    """Where rows and columns of a grid meet, four sheets lie on each other."""
    plan = plan_sheets(framed(450.0, 250.0), PrintSettings("A4", 10.0, 20.0))
    assert (plan.layout, len(plan.sheets)) == ("grid", 4)
    corners = 0
    for joint in plan.joints:
        for above in plan.joints:
            covered = above.lower in (joint.upper, joint.lower)
            if covered and above.upper not in (joint.upper, joint.lower):
                top = shapely.Polygon(plan.sheets[above.upper - 1].corners)
                corners += 1
                for mark in joint.marks:
                    assert top.intersection(shapely.Polygon(mark.corners)).area < 1e-6
    assert corners > 0


def test_a_long_strip_takes_four_sheets(made: dict[str, Piece]) -> None:
    """900 mm and its ends over 267 mm a sheet (A4 lying, 10 mm margins and overlap): 4."""
    plan = planned(made["long strip"])
    assert len(plan.sheets) == 4
    assert {sheet.size for sheet in plan.sheets} == {(297.0, 210.0)}


def test_paper_from_a_roll_is_one_long_page(made: dict[str, Piece]) -> None:
    """900 mm of line, 10 mm beyond its ends that working needs and 20 mm for words, 10 mm margins:
    980 mm or a little more, for the words of the last stations.
    """
    piece, roll = made["long strip"], PrintSettings(roll=297.0)
    drawing = drawn(piece)
    plan = lay_out(drawing, piece, roll)
    (sheet,) = plan.sheets
    assert sheet.size[1] == 297.0
    assert 980.0 - 1e-6 <= sheet.size[0] < 990.0
    content = template_pdf(drawing, in_place(piece, SIZE), piece, plan, roll)
    assert b"/PrintScaling /None" in content
    document = pypdfium2.PdfDocument(content)
    page = document[len(document) - 1]
    assert [side / PT_PER_MM for side in page.get_size()] == pytest.approx(sheet.size, abs=0.01)
    assert "a roll 297 mm wide" in document[0].get_textpage().get_text_bounded()
    # Nobody sees a metre of paper at once: some 330 mm of it have their own KEEP, 3 in 980 mm.
    assert page.get_textpage().get_text_bounded().split().count("KEEP") == 3


def test_no_page_is_longer_than_a_pdf_may_have() -> None:
    """14 400 units of 1/72 inch are 5080 mm (ISO 32000-1, annex C)."""
    line = np.array([[0.0, 0.0], [9000.0, 1.0]])
    check = CheckDistance((0, 0), (9000, 0), 9000)
    drawing = Drawing("long", (Layer("cut", (Path(line),)),), check)
    plan = plan_sheets(drawing, PrintSettings(roll=610.0))
    assert len(plan.sheets) == 2
    assert max(sheet.size[0] for sheet in plan.sheets) <= 5080.0 + 1e-9


def test_no_room_between_margins(made: dict[str, Piece]) -> None:
    with pytest.raises(ScribeError) as caught:
        plan_sheets(drawn(made["short strip"]), PrintSettings("A4", 95.0))
    assert caught.value.kind == "template-margins"


@pytest.mark.parametrize("mirrored", [False, True])
def test_every_sheet_tells_its_sides_by_itself(piece: Piece, mirrored: bool) -> None:
    """Words are whole on their own page; KEEP, the side and the wall's side on each with a cut."""
    drawing = drawn(piece, mirrored=mirrored)
    plan = planned(piece, mirrored=mirrored)
    seen = mirror(piece) if mirrored else piece
    lines = np.vstack([path.points for path in drawing.layer("cut").paths])
    for sheet in plan.sheets:
        frame, own = turned(sheet.turn), plan.own(sheet)
        labels = sheet_view(drawing, piece, plan, sheet).layer("labels").texts
        area = shapely.Polygon(frame.apply(own)).buffer(1e-6)
        for text in labels:
            assert area.contains(shapely.box(*text_box(text))), text.words
        assert "UP" in [text.words for text in labels]
        if shapely.Polygon(own).buffer(-30.0).intersects(shapely.MultiPoint(lines)):
            said = " ".join(text.words for text in labels)
            wanted = ["KEEP", "UP", "WALL SIDE", "MIRRORED" if mirrored else "FACE"]
            assert all(word in said for word in wanted), (sheet.number, said)
        for cut in seen.cuts:
            for text in labels:
                a, b, c, d = text_box(text)
                centre = frame.inverse().apply(np.array([(a + c) / 2, (b + d) / 2]))
                if text.words == f"WALL SIDE: {cut.name}":
                    assert float((centre - cut.start) @ cut.out) > 0.0
                if text.words.startswith(f"{cut.from_end} end:"):
                    assert np.hypot(*(centre - cut.start)) < 80.0


@settings(max_examples=6)  # a wall of pages takes a while to lay out
@given(
    st.floats(5.0, 1200.0), st.floats(5.0, 600.0), st.sampled_from(["A4", "A3", "Letter"]),
    st.floats(4.0, 15.0), st.floats(5.0, 20.0),
)  # fmt: skip
def test_sheets_cover_any_box(
    width: float, height: float, paper: str, margin: float, overlap: float
) -> None:
    """A frame and its diagonals: every point of them lies on a page, and neighbours overlap."""
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    drawing = framed(width, height)
    plan = plan_sheets(drawing, PrintSettings(paper, margin, overlap))
    share = np.linspace(0.0, 1.0, 200)[:, None]
    for a, b in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)):
        points = corners[a] * (1 - share) + corners[b] * share
        assert np.any([sheet.shows(points) for sheet in plan.sheets], axis=0).all()
    for joint in plan.joints:
        shared = np.vstack([joint.trim, joint.frame.apply([[0.0, overlap]])])
        assert plan.sheets[joint.upper - 1].shows(shared).all()
        assert plan.sheets[joint.lower - 1].shows(shared).all()


def test_table_never_takes_too_much(piece: Piece) -> None:
    rows = list(csv.DictReader(io.StringIO(removal_csv(piece))))
    exact = np.concatenate([cut.removal.remove for cut in piece.cuts])
    u95 = 2 * np.concatenate([cut.removal.u for cut in piece.cuts])
    written = np.array([float(row["remove_mm"]) for row in rows])
    assert (written <= np.maximum(exact, 0.0) + 1e-12).all()
    assert written == pytest.approx(np.maximum(exact, 0.0), abs=0.01)
    assert (np.array([float(row["u95_mm"]) for row in rows]) >= u95 - 1e-9).all()
    assert list(rows[0])[:4] == ["station_mm", "remove_mm", "u95_mm", "width_left_mm"]
    people = [row for cut in piece.cuts for row in removal_rows(cut)]
    assert all(float(row[1]) <= max(e, 0.0) + 1e-9 for row, e in zip(people, exact, strict=True))
