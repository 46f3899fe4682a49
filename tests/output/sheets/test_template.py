"""Drawing, SVG, DXF, PDF and table of real pieces, judged by readers that did not write them."""

from __future__ import annotations

import csv
import io
from pathlib import Path as File

import ezdxf
import numpy as np
import pypdfium2
import pytest
import shapely
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.frames import Rigid, turned
from scribe.job import PrintSettings
from scribe.output.pages.cover_joining import crosses_told
from scribe.output.pages.pdf import template_pdf
from scribe.output.pages.pdf_sheet import BAR_MM
from scribe.output.piece.draw_piece import draw, wordless
from scribe.output.piece.drawing import (
    LAYERS,
    CheckDistance,
    Drawing,
    Layer,
    Path,
    text_box,
    text_size,
)
from scribe.output.piece.dxf import dxf_bytes
from scribe.output.piece.free_space import FreeSpace, hatching, inside
from scribe.output.piece.mirror import mirror
from scribe.output.piece.pictogram import SIZE, in_place
from scribe.output.piece.svg import MARGIN_MM, svg_bytes
from scribe.output.piece.table import removal_csv, removal_rows
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheet_view import sheet_view
from scribe.output.sheets.sheets import FOOT_MM, SheetPlan
from scribe.output.sheets.template import lay_out
from scribe.piece import Piece, Polygon

PT_PER_MM = 72 / 25.4  # ISO 32000-1, 8.3.2.3
PX_PER_MM = 96 / 25.4  # CSS Values and Units: 1in = 96px
DPI = 150
A4 = PrintSettings()


_DRAWN: dict[tuple[str, bool], Drawing] = {}
_PLANNED: dict[tuple[str, bool, str], SheetPlan] = {}


def drawn(piece: Piece, *, mirrored: bool = False) -> Drawing:
    """One of the four pieces drawn, once for all tests: nobody changes a drawing. The mirrored one
    has its words on its sheets alone.
    """
    key = piece.name, mirrored
    if key not in _DRAWN:
        _DRAWN[key] = wordless(piece, mirrored=True) if mirrored else draw(piece)
    return _DRAWN[key]


def planned(piece: Piece, *, mirrored: bool = False, paper: str = "A4") -> SheetPlan:
    """Its sheets, likewise."""
    key = piece.name, mirrored, paper
    if key not in _PLANNED:
        plan = plan_sheets(drawn(piece), PrintSettings(paper))
        _PLANNED[key] = plan.mirrored() if mirrored else plan
    return _PLANNED[key]


def views(piece: Piece, *, mirrored: bool) -> list[tuple[Rigid, Drawing]]:
    """Everything with words that is made of it, each with its frame: sheet by sheet, and the whole
    as seen from the face.
    """
    plan, drawing = planned(piece, mirrored=mirrored), drawn(piece, mirrored=mirrored)
    sheets = [
        (turned(sheet.turn), sheet_view(drawing, piece, plan, sheet)) for sheet in plan.sheets
    ]
    return sheets if mirrored else [*sheets, (turned(0.0), drawing)]


def is_inside(area: Polygon, point: np.ndarray) -> bool:
    return bool(inside(area, point[:1], point[1:])[0, 0])


def words(drawing: Drawing, start: str) -> list[np.ndarray]:
    """Middles of the labels that begin so."""
    boxes = [text_box(t) for t in drawing.layer("labels").texts if t.words.startswith(start)]
    return [np.array([(a + c) / 2, (b + d) / 2]) for a, b, c, d in boxes]


@pytest.mark.parametrize("mirrored", [False, True])
def test_keep_and_waste_stand_where_they_are_true(piece: Piece, mirrored: bool) -> None:
    """A label on the wrong side is the classic disaster: each lies inside the area it names."""
    flip = np.array([-1.0, 1.0]) if mirrored else np.ones(2)
    kept, fallen = (
        [flip * frame.inverse().apply(at) for frame, view in views(piece, mirrored=mirrored)
         for at in words(view, said)]
        for said in ("KEEP", "WASTE")
    )  # fmt: skip
    assert kept
    assert all(is_inside(piece.keep, at) for at in kept)
    assert all(any(is_inside(part, at) for part in piece.waste) for at in fallen)


@pytest.mark.parametrize("mirrored", [False, True])
def test_words_inside_touch_neither_each_other_nor_a_cut(piece: Piece, mirrored: bool) -> None:
    for _, view in views(piece, mirrored=mirrored):
        lines = np.vstack([path.points for path in view.layer("cut").paths])
        boxes = [(t.words, text_box(t)) for t in view.layer("labels").texts]
        for k, (name, (a, b, c, d)) in enumerate(boxes):
            hit = ((lines > [a, b]) & (lines < [c, d])).all(axis=1)
            assert not hit.any() or name == "WASTE", name
            for other, (e, f, g, h) in boxes[k + 1 :]:
                assert c <= e or g <= a or d <= f or h <= b, (name, other)


def test_mirrored_is_unmistakable_and_exact(piece: Piece) -> None:
    face, back = drawn(piece), drawn(piece, mirrored=True)
    for one, two in zip(face.layer("cut").paths, back.layer("cut").paths, strict=True):
        assert two.points == pytest.approx(one.points * [-1, 1])
    assert not words(face, "MIRRORED")
    for _, view in views(piece, mirrored=True):
        assert words(view, "MIRRORED")
        assert words(view, "BACK")
        assert not words(view, "FACE")


def test_hatching_lies_in_the_waste(piece: Piece) -> None:
    for part in piece.waste:
        for line in hatching(part, 4.0):
            assert is_inside(part, line.mean(axis=0))


def test_a_ring_is_hatched_round_its_hole() -> None:
    """Square of 40 with a hole of 20: length of 45 degree lines 4 mm apart = area / 4."""
    square = np.array([[0, 0], [40, 0], [40, 40], [0, 40.0]])
    hole = (np.array([[10, 10], [10, 30], [30, 30], [30, 10.0]]),)
    lines = hatching(Polygon(square, hole), 4.0)
    total = sum(float(np.hypot(*(b - a))) for a, b in lines)
    assert total == pytest.approx((1600 - 400) / 4, rel=0.05)
    assert not FreeSpace(Polygon(square, hole), (0.0, 0.0, 40.0, 40.0)).free[19:21, 19:21].any()


def test_hatching_runs_on_over_turned_sheets() -> None:
    """The same lines, turned; clear of the same square, and cut down to what is shown."""
    area = Polygon(np.array([[0, 0], [90, 10], [120, 80], [-10, 70.0]]))
    spared = np.array([[30, 30], [50, 30], [50, 50], [30, 50.0]])
    frame = turned(0.4)
    level = hatching(area, 4.0, [spared])
    turned_area = Polygon(frame.apply(area.outer))
    lying = hatching(turned_area, 4.0, [frame.apply(spared)], angle=0.4)
    assert np.array(lying) == pytest.approx(frame.apply(np.array(level)))
    square = shapely.Polygon(spared).buffer(-1e-6)
    assert not any(square.intersects(shapely.LineString(line)) for line in level)
    shown = shapely.box(60.0, 20.0, 100.0, 60.0)
    few = hatching(area, 4.0, [spared], within=np.array(shown.exterior.coords))
    assert len(few) < len(level)
    for lines in (few, level):
        inside_it = [shown.intersection(shapely.LineString(line)).length for line in lines]
        assert sum(inside_it) == pytest.approx(40.0 * 40.0 / 4.0, rel=0.05)


def test_svg_is_full_size(piece: Piece) -> None:
    drawing = drawn(piece)
    content = svg_bytes(drawing)
    assert content == svg_bytes(draw(piece))
    svg = svgelements.SVG.parse(io.BytesIO(content), reify=False, ppi=96)
    x0, y0, x1, y1 = drawing.full_box()
    assert float(svg.width) / PX_PER_MM == pytest.approx(x1 - x0 + 2 * MARGIN_MM, abs=0.01)
    assert float(svg.height) / PX_PER_MM == pytest.approx(y1 - y0 + 2 * MARGIN_MM, abs=0.01)
    assert svg.viewbox.width == pytest.approx(x1 - x0 + 2 * MARGIN_MM, abs=0.01)
    groups = {e.id: e for e in svg.elements() if isinstance(e, svgelements.Group) and e.id}
    assert set(LAYERS) <= set(groups)
    shapes = [e for e in groups["cut"] if isinstance(e, svgelements.Polyline)]
    paths = drawing.layer("cut").paths
    assert len(shapes) == len(paths)
    for shape, path in zip(shapes, paths, strict=True):
        seen = np.array([[p.x, p.y] for p in shape.points])
        there = np.column_stack(
            [path.points[:, 0] - x0 + MARGIN_MM, y1 - path.points[:, 1] + MARGIN_MM]
        )
        assert seen == pytest.approx(there, abs=0.01)


def test_dxf_has_the_same_lines_in_mm(piece: Piece, tmp_path: File) -> None:
    drawing = drawn(piece)
    content = dxf_bytes(drawing, piece)
    assert content == dxf_bytes(drawing, piece)
    (tmp_path / "a.dxf").write_bytes(content)
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert document.header["$INSUNITS"] == 4  # millimetres
    lines = document.modelspace().query("LWPOLYLINE[layer=='cut']")
    seen = [np.array([(x, y) for x, y, *_ in line.get_points()]) for line in lines]
    for path, points in zip(drawing.layer("cut").paths, seen, strict=True):
        assert points == pytest.approx(path.points, abs=1e-9)
    # group codes as they stand in the file: 0/LWPOLYLINE with layer 8/cut
    codes = [line.strip() for line in content.decode().splitlines()]
    count = sum(len(layer.paths) for layer in drawing.layers)
    assert codes.count("LWPOLYLINE") == count + 1 + len(piece.keep.holes)


def test_a_machine_follows_closed_lines(piece: Piece, tmp_path: File) -> None:
    """The piece's border and openings are whole and closed, and the file passes the audit."""
    (tmp_path / "a.dxf").write_bytes(dxf_bytes(drawn(piece), piece))
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert not document.audit().errors
    (border,) = document.modelspace().query("LWPOLYLINE[layer=='piece']")
    assert border.closed
    seen = np.array([(x, y) for x, y, *_ in border.get_points()])
    assert seen == pytest.approx(piece.keep.outer, abs=1e-9)
    openings = document.modelspace().query("LWPOLYLINE[layer=='openings']")
    assert len(openings) == len(piece.keep.holes)
    assert all(line.closed for line in openings)
    assert not document.layers.get("waste").dxf.plot
    assert document.layers.get("piece").dxf.plot


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


def test_mirrored_twice_is_the_piece(piece: Piece) -> None:
    again = mirror(mirror(piece))
    assert np.array_equal(again.keep.outer, piece.keep.outer)
    for one, two in zip(again.cuts, piece.cuts, strict=True):
        assert np.array_equal(one.line, two.line)
        assert (one.keep, one.name, one.edge) == (two.keep, two.name, two.edge)
    assert np.array_equal(again.up, piece.up)


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


def test_check_distance_is_between_its_crosses(piece: Piece) -> None:
    check = drawn(piece).check
    start, end = np.array(check.start), np.array(check.end)
    assert np.hypot(*(end - start)) == pytest.approx(check.length)
    assert check.length == int(check.length)
    assert is_inside(piece.keep, start)
    assert is_inside(piece.keep, end)


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


def test_text_size_is_on_the_generous_side() -> None:
    """Against reportlab's own metrics of Helvetica: never narrower than the ink."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    from scribe.output.pages.on_canvas import CAP
    from scribe.output.piece.drawing import Text

    for said, bold in (("KEEP", True), ("FACE - seen when fitted", True), ("notched panel", False),
                       ("120: 13.4", False), ("WALL SIDE: chimney", True)):  # fmt: skip
        font = "Helvetica-Bold" if bold else "Helvetica"
        true = stringWidth(said, font, 5.0 / CAP)
        width, _ = text_size(Text((0, 0), said, 5.0, bold=bold))
        assert true <= width <= 1.45 * true, said
