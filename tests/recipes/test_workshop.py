"""What the workshop says of a whole room, read back from its page, its table and its summary."""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from scribe.cutting import Part, Sheet
from scribe.errors import ScribeError
from scribe.opening import Opening, Size
from scribe.recipes.survey import survey, write_survey
from scribe.recipes.workshop import Worked, work_out
from scribe.sizes import Built, Carcass, StandUp, StripSize
from scribe.toml_file import read_toml
from scribe.workshop import Workshop, read_workshop
from tests.test_workshop import WHOLE


@pytest.fixture
def worked(tmp_path: Path) -> Worked:
    path = tmp_path / "room.toml"
    path.write_text(WHOLE)
    room = Opening.square(1200.0, 2400.0, 400.0)
    steep = Opening(
        **{**room.__dict__, "ceiling": ((0.0, 1500.0, 1500.0), (1200.0, 3000.0, 3000.0))}
    )
    return work_out(read_workshop(read_toml(path)), steep)


def test_the_cut_list_reads_back(worked: Worked) -> None:
    rows = list(csv.DictReader(io.StringIO(worked.files()["cut-list.csv"].decode())))
    assert [row["part"] for row in rows] == ["cheek", "rail"]
    assert (rows[0]["length_mm"], rows[0]["width_mm"]) == ("2283", "585")
    assert (rows[0]["finished_length_mm"], rows[0]["allow_top_mm"]) == ("2280", "25")
    assert (rows[1]["width_mm"], rows[1]["mark"]) == ("", "B")


def test_the_sections_hold_what_was_worked_out(worked: Worked) -> None:
    page = worked.section()
    for heading in ("Angles", "Cut list", "Strips from planks", "Stiffness"):
        assert f"<h2>{heading}</h2>" in page
    assert "not structural advice" in page
    assert "stand the board on that end" in page  # the ceiling rises by 51 degrees, the saw has 47
    assert "231 mm gives 4 strips of 44 mm, and 35 mm are left" in page  # 223 - 4 x 47 = 35


def test_the_diagrams_are_drawn_to_scale(worked: Worked) -> None:
    # Read back as XML: the blade's cuts are 3 mm wide at the scale at which the sheet is drawn.
    drawings = [
        ET.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", worked.section(), re.DOTALL)
    ]
    assert len(drawings) == 3  # one sheet; a board of three rails and one of the fourth
    ids = [each.attrib["id"] for svg in drawings for each in svg.iter("pattern")]
    assert len(set(ids)) == 3
    rects = [each.attrib for each in drawings[0].iter("rect")]
    scale = float(rects[0]["width"]) / 2440.0
    parts = [r for r in rects if r["fill"] == "var(--page)"]
    assert len(parts) == 2
    for part in parts:
        assert float(part["width"]) / scale == pytest.approx(2283.0, abs=0.02)
        assert float(part["height"]) / scale == pytest.approx(585.0, abs=0.02)
    numbers = [t.text for t in drawings[0].iter("text") if (t.text or "").isdigit()]
    assert numbers == [str(n) for n in range(1, len(numbers) + 1)]


def test_the_summary_is_for_programs(worked: Worked) -> None:
    said = json.loads(json.dumps(worked.summary()))
    assert {each["name"]: each["used"] for each in said["stock"]} == {
        "birch ply 18": 1, "pine 44 x 18": 2,
    }  # fmt: skip
    (member,) = said["members"]
    assert member["verdict"] in ("holds", "doubtful", "sags")
    assert any("not structural advice" in line for line in worked.lines())


def test_parts_of_no_stock_are_refused() -> None:
    with pytest.raises(ScribeError) as refused:
        work_out(Workshop(parts=(Part("plinth", "oak", 900.0, 80.0),)))
    assert refused.value.kind == "stock-unknown"


def test_carcasses_and_strips_are_sawn_with_the_rest() -> None:
    stands = StandUp("front", 2300.0, 2400.0, Size(100.0, 1.0), 0.0, 2350.0)
    boxes = [Carcass(f"bay {n}", 0.0, 0.0, 600.0, 2200.0, 350.0, stands) for n in (1, 2)]
    size = Size(41.3, 1.0)
    strip = StripSize("left", "left strip", 2380.0, size, size, 60.0, 3.0, size, size, False)
    shop = Workshop(
        sheets=(Sheet("ply", 2440.0, 1220.0),), carcasses="ply", strips="ply", thickness=18.0
    )
    worked = work_out(shop, None, Built(tuple(boxes), (strip,), ()))
    found = {part.name: (part.count, part.length, part.width) for part in worked.parts}
    # Between two sides of 18 mm a box of 600 has 564; the strip leaves the saw as wide as bought.
    assert found == {
        "carcass side": (4, 2200.0, 350.0),
        "carcass top or bottom": (4, 564.0, 350.0),
        "left strip": (1, 2380.0, 60.0),
    }
    assert worked.plans[0].used == 2  # 4 x 2200 x 350 alone are 3.08 m2 of 2.98 a sheet


def test_nothing_asked_nothing_said() -> None:
    nothing = work_out(Workshop())
    assert "<section>" not in nothing.section()
    assert nothing.files() == {}
    assert nothing.lines() == []


def test_a_room_s_file_is_worked_out_with_its_survey(tmp_path: Path) -> None:
    room = Path(__file__).parents[2] / "fixtures/alcove-room/room.toml"
    found = survey(room)
    names = {path.name for path in write_survey(found, tmp_path)}
    assert "cut-list.csv" in names
    said = found.summary()
    # Angles known by hand: front diagonals and widths make the alcove nearly square.
    assert all(abs(abs(end["mitre_deg"]) - 45) < 1 for end in said["sawn_ends"]
               if end["name"].startswith("trims"))  # fmt: skip
    shelf, lipped = said["members"]
    assert (shelf["verdict"], lipped["verdict"]) == ("sags", "holds")
    # By area: 2 x 2295 x 350 + 5 x 1186 x 320 + 8 x 310 x 140 = 3.85 m2 of
    # 2.98 m2 a sheet, so that two are the fewest.
    assert [stock["used"] for stock in said["stock"]] == [2, 3]
    assert all(stock["proven"] for stock in said["stock"])


def test_mouldings_are_told_with_the_words_for_the_hands(tmp_path: Path) -> None:
    """62 over 80 is a spring of 37.8 degrees. In the room's square corners a saw that tilts to 30
    and turns to 50 makes it held as it hangs (45); a corner of 60 takes 60, and is made in no way.
    """
    path = tmp_path / "room.toml"
    path.write_text(
        "[saw]\nmitre = 50\ntilt = 30\n"
        '[[moulding]]\nname = "cornice"\ndrop = 80\nprojection = 62\n'
        '[[moulding]]\nname = "frieze"\nspring = 45\ncorner = 60\n'
    )
    worked = work_out(read_workshop(read_toml(path)), Opening.square(1200.0, 2400.0, 400.0))
    page = worked.section()
    assert "<h2>Mouldings</h2>" in page
    assert "let the blade stop" in page
    assert "Saw two offcuts first" in page
    # 33.9 is beyond a tilt of 30, and 45 within the table's 50; of a corner of 60 both are beyond.
    assert "Lying flat, it is beyond the saw: saw it held as it hangs." in page
    assert "Beyond the saw either way" in page
    (one, _, other) = worked.summary()["mouldings"]
    assert one["mitre_deg"] == pytest.approx(31.5, abs=0.05)
    assert other["held_as_it_hangs_mitre_deg"] == pytest.approx(60.0)
    assert other["held_as_it_hangs_mitre_u95_deg"] == pytest.approx(0.25)  # half of the corner's U
    assert any(
        line.startswith("cornice, left wall and back: lying flat, mitre 31.")
        for line in worked.lines()
    )
