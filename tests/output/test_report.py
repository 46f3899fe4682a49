"""The report: one file, no network, every number of the table, safe against odd names."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.job import PrintSettings
from scribe.outline import Outline
from scribe.output.cautions import CAUTIONS
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.pictogram import SIZE, in_place
from scribe.output.piece.svg import svg_bytes
from scribe.output.piece.table import removal_rows
from scribe.output.plot import deviation_plot
from scribe.output.report import PieceReport, TraceReport, report_html
from scribe.output.sheets.sheets import SheetPlan
from scribe.output.sheets.template import lay_out
from scribe.piece import Piece

VOID = {"meta", "img", "br", "hr", "link", "input", "line", "polyline", "polygon", "rect"}


class Reader(HTMLParser):
    """Collects text, links, identities and headings, and checks that tags are closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.headings: list[int] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.links += [v or "" for k, v in attrs if k in ("src", "href", "xlink:href")]
        self.ids += [given["id"] or ""] if "id" in given else []
        self.scripts += tag == "script"
        if tag in ("h1", "h2", "h3"):
            self.headings.append(int(tag[1]))
        if tag == "img":
            assert given.get("alt")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def sheets(piece: Piece) -> SheetPlan:
    return lay_out(draw(piece), piece, PrintSettings())


def outline() -> Outline:
    x = np.linspace(0, 120, 61)
    u = np.full(61, 0.04)
    measured = np.ones(61, bool)
    measured[20:24] = False
    return Outline(
        np.column_stack([x, 2 * np.sin(x / 20)]), u, "left", measured=measured,
        budget={"localisation": 0.6 * u, "print scale": 0.8 * u},
    )  # fmt: skip


@pytest.fixture(scope="module")
def page(made: dict[str, Piece]) -> str:
    trace = TraceReport(
        "wall",
        outline(),
        {"photo": "a & b.jpg", "object": "below"},
        ("Measure the bar.",),
        b"\x89PNG",
        straightness="2.1 +/- 0.1 mm",
    )
    reports = [
        PieceReport(p, svg_bytes(draw(p)), in_place(p, SIZE), (f"{p.name}.pdf",), sheets(p))
        for p in made.values()
    ]
    return report_html("cottage <b>& barn", [trace], reports)


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    assert reader.open == []
    return reader


def test_it_opens_without_a_network(page: str) -> None:
    reader = read(page)
    assert reader.scripts == 0
    assert all(link.startswith("data:image/png;base64,") for link in reader.links)
    outside = page.replace("http://www.w3.org/", "")  # names of SVG, not addresses to fetch
    assert "http" not in outside
    assert "@import" not in page


def test_names_cannot_break_the_page(page: str) -> None:
    assert "cottage &lt;b&gt;&amp; barn" in page
    assert "a &amp; b.jpg" in page
    assert "cottage <b>& barn" in "".join(read(page).words)


def test_identities_are_unique_and_headings_in_order(page: str) -> None:
    reader = read(page)
    assert len(reader.ids) == len(set(reader.ids))
    assert reader.headings[0] == 1
    assert all(b - a <= 1 for a, b in zip(reader.headings, reader.headings[1:], strict=False))


def test_every_row_of_the_tables_is_there(page: str, made: dict[str, Piece]) -> None:
    for piece in made.values():
        for cut in piece.cuts:
            for row in removal_rows(cut):
                cells = "".join(f"<td>{cell}</td>" for cell in row)
                assert cells in page


def test_what_u_contains_is_said(page: str) -> None:
    words = "".join(read(page).words)
    assert "0.08 mm, at worst 0.08 mm" in words  # U = 2 x 0.04
    assert "4 of 61 points bridge" in words
    assert "on the side of the red line that is towards the sheet's foot" in words
    assert "localisation: where the edge lies in the photo" in words
    assert "0.064" in words  # 2 x 0.8 x 0.04
    assert all(caution.sentence in words for caution in CAUTIONS)


def test_what_is_nothing_of_u_is_not_listed(page: str) -> None:
    less = outline()
    budget = dict(less.budget) | {"paper": np.full(61, 2e-4), "tone": np.full(61, 3e-4)}
    said = report_html("job", [TraceReport("wall", less.with_(budget=budget), {}, (), None)], [])
    assert "tone: how" in said  # U of 0.0006 mm, printed as 0.001
    assert "paper: a sheet" not in said
    assert "below 0.001 mm isn't listed" in said
    assert "isn't listed" not in page


def test_why_the_photo_says_another_u_than_the_heading(page: str) -> None:
    """On the photo U is that of the shape; the heading's is that of what the piece is cut to."""
    assert "U (k = 2) of its place on the sheet: 0.08 mm" in page
    chord = outline().with_(datum=Datum(np.zeros(2), np.array([1.0, 0.0]), "chord"))
    beside = report_html("job", [TraceReport("wall", chord, {}, (), b"\x89PNG")], [])
    assert "U (k = 2) from the chord: 0.08 mm" in beside
    assert "The U written on the photo is that of the traced shape by itself" in beside
    assert "where the chord lies a little off" in beside


def test_the_same_job_gives_the_same_page(made: dict[str, Piece]) -> None:
    reports = [
        PieceReport(p, svg_bytes(draw(p)), in_place(p, SIZE), (), sheets(p)) for p in made.values()
    ]
    assert report_html("a", [], reports) == report_html("a", [], reports)


def test_plot_states_its_exaggeration() -> None:
    """120 mm over 648 units, about 4.2 mm over 180: 42.9 / 5.4 = 8 times, to the pad's choice."""
    text = deviation_plot(outline(), "wall")
    factor = float(text.split("are drawn ")[1].split(" times")[0])
    assert 6.0 <= factor <= 9.0
    assert text.count("stroke-dasharray") == 1
    flat = replace(outline(), points=np.column_stack([np.linspace(0, 120, 61), np.zeros(61)]))
    assert "nan" not in deviation_plot(flat, "flat")
    # Solid on the left of somebody who travels to the right, y up: above; the other way, below.
    assert "The building lies above the line" in text
    assert "lies below the line" in deviation_plot(outline().with_(solid="right"), "floor")


def test_what_u_is_made_of_stands_there_with_kind_and_share(page: str) -> None:
    """0.6 and 0.8 of 0.04 mm: 36 and 64 % of the square; with k = 2 0.048 and 0.064 mm."""
    words = [word.strip() for word in read(page).words]
    at = next(k for k, word in enumerate(words) if word.startswith("print scale: "))
    row = [word for word in words[at + 1 : at + 14] if word]
    assert row[:5] == ["B", "0.064", "64", "0.064", "64"]
    assert "2.1 +/- 0.1 mm" in page


def test_a_corners_two_rows_say_which_side_they_are_of(made: dict[str, Piece]) -> None:
    """The notched panel stands on a skirting: the row on the floor's side comes first, and what is
    written at the corner on the template has both.
    """
    (cut,) = made["notched panel"].cuts
    rows = [row for row in removal_rows(cut) if "corner" in row[-1]]
    assert [row[-1].split(",")[0] for row in rows] == ["before the corner", "past the corner"]
    at = [k for k, kind in enumerate(cut.removal.kind) if kind == "corner"]
    assert cut.removal.station[at[0]] <= cut.removal.station[at[1]]
    words = f"{rows[0][0]}: {rows[0][1]} to {rows[1][1]}"
    assert words in svg_bytes(draw(made["notched panel"])).decode("utf-8")


def test_a_long_piece_is_drawn_large_enough_to_be_read(page: str, made: dict[str, Piece]) -> None:
    """Within the page's 960 px the words of 900 mm would be 3.5 mm x 1 px high; of 150 mm they
    are readable as they are.
    """
    wide = [int(each) for each in re.findall(r'<div style="width: (\d+)px">', page)]
    long = [piece for piece in made.values() if np.ptp(piece.blank.shape.outer, axis=0).max() > 560]
    assert len(wide) == len(long) == 3
    assert max(wide) > 1.5 * 900
    assert page.count("scroll in it") == 3
