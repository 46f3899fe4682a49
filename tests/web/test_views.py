"""What the screens are told, from a job as the routes answer it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from scribe.web.view_cut import cut_view
from scribe.web.view_outline import figures
from scribe.web.view_piece import piece_number
from scribe.web.views import done_places, view_of

JOB: dict[str, Any] = {
    "id": "alcove", "href": "/jobs/alcove", "photos": [], "work": [], "ticks": {}, "checked": None,
    "toml": {"name": "alcove", "outline": {"wall": {"file": "wall.json"}},
             "piece": [{"name": "infill", "blank": {"length": 100, "thickness": 18}}]},
    "outlines": {"wall": {"traced": False, "fresh": False, "corrected": False,
                          "lines": [], "advice": [], "steps": []}},
    "made": {"fresh": True, "report": "/r", "files": [], "pieces": [
        {"name": "infill", "files": ["infill.pdf", "infill-remove.csv"], "notes": [],
         "edges": [{"outline": "wall", "edge": "top", "stations_from": "left", "bridged": True}]}]},
}  # fmt: skip
TABLE = """station_mm,remove_mm,u95_mm,width_left_mm,edge,outline,kind,measured
0.00,2.98,0.11,57.02,top,wall,end,yes
12.50,8.00,0.04,52.00,top,wall,step,no
"""


def test_what_comes_off_is_rounded_down_and_U_up(tmp_path: Path) -> None:
    (tmp_path / "made").mkdir()
    (tmp_path / "made/infill-remove.csv").write_text(TABLE, "utf-8")
    job = JOB | {"ticks": {"infill": {"top": [12.5]}}}
    (edge,) = cut_view(job, {}, tmp_path)["edges"]
    first, second = edge["rows"]
    assert (first["remove"], first["U"], first["done"]) == ("2.9", "0.2", False)
    assert (second["remove"], second["U"], second["done"]) == ("8.0", "0.1", True)
    assert second["words"] == "not measured"
    assert edge["done"] == 1


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("it fits: pushed home, no gap is larger than U", "good"),
        ("the part that was seen fits: pushed home, no gap there is larger than U", "warn"),
        ("pushed home, the largest gap is 0.40 mm at station 20: filler may close that", "warn"),
    ],
)
def test_only_a_whole_fit_is_called_good(tmp_path: Path, said: str, kind: str) -> None:
    job = JOB | {
        "checked": {
            "piece": "infill",
            "verdict": said,
            "said": ["filler, top", said],
            "files": ["overlay-1.png"],
        }
    }
    checked = cut_view(job, {}, tmp_path)["checked"]
    assert checked["kind"] == kind
    assert (checked["lines"], checked["more"]) == ([], ["filler, top"])
    assert checked["map"] == ""


def test_a_check_shows_its_drawing_and_hands_out_its_report(tmp_path: Path) -> None:
    names = ["check.html", "deviation.svg", "second-cut.csv", "overlay-1.png"]
    job = JOB | {
        "checked": {"piece": "infill", "verdict": "it fits", "said": ["it fits"], "files": names}
    }
    checked = cut_view(job, {}, tmp_path)["checked"]
    assert checked["map"].startswith("/jobs/alcove/checked/deviation.svg?")
    assert [(each["words"], each["href"]) for each in checked["files"]] == [
        ("The whole finding", "/jobs/alcove/checked/check.html"),
        ("Every station: table", "/jobs/alcove/checked/second-cut.csv?download"),
    ]


def test_an_outline_from_a_file_has_nothing_to_trace(tmp_path: Path) -> None:
    assert view_of("outline", JOB, {}, tmp_path)["from_file"]
    assert done_places(JOB) == {"outline", "piece", "cut"}


def test_a_piece_is_not_done_before_what_it_follows_is_traced() -> None:
    piece = {"name": "infill", "edge": [{"edge": "top", "outline": "wall"}]}
    toml = {"outline": {"wall": {"photo": "001.jpg"}}, "piece": [piece]}
    untraced = JOB | {"toml": toml, "outlines": {"wall": {"fresh": False, "traced": False}}}
    assert "piece" not in done_places(untraced)
    traced = untraced | {"outlines": {"wall": {"fresh": True, "traced": True}}}
    assert "piece" in done_places(traced)


def test_nobody_is_sent_to_where_he_is(tmp_path: Path) -> None:
    error = {"kind": "k", "what": "w", "where": "001.jpg", "do": "show it with Ends (at Outline)"}
    refused = {"id": "1", "do": "trace", "of": "wall", "state": "refused", "error": error}
    (said,) = view_of("outline", JOB | {"work": [refused]}, {}, tmp_path)["refused"]
    assert said["do"] == "show it with Ends"


@pytest.mark.parametrize(
    ("asked", "found"),
    [({"outline": "ceiling"}, "ceiling"), ({}, "wall"), ({"outline": "x"}, "wall")],
)
def test_a_new_piece_follows_what_was_looked_at(
    asked: dict[str, str], found: str, tmp_path: Path
) -> None:
    """Else the first outline that is traced."""
    lines = {"lines": ["outline: 119.8 +/- 0.7 mm from end to end"], "fresh": True, "traced": True}
    names = ("floor", "wall", "ceiling")
    job = JOB | {
        "toml": {"outline": {name: {"photo": f"{name}.jpg"} for name in names}},
        "outlines": {"wall": lines, "ceiling": lines},
    }
    assert view_of("piece", job, asked, tmp_path)["follows"] == found


def test_the_numbers_that_people_look_for_come_with_their_U() -> None:
    line = (
        "outline: 119.8 +/- 0.7 mm from its first traced point to its last, bow 17.14 +/- 0.16 mm"
    )
    assert [(each["value"], each["U"]) for each in figures([line])] == [
        ("119.8", "0.7"),
        ("17.14", "0.16"),
    ]


@pytest.mark.parametrize("asked", ["-1", "9", "x", "\u0661", "99999999", ""])
def test_a_piece_that_makes_no_sense_is_the_first(asked: str) -> None:
    assert piece_number({"piece": asked}, 2) == 0
