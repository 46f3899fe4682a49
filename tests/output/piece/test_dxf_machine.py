"""What a machine follows of a piece with holes, read back by ezdxf."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing

from scribe.job_file import read_job
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.dxf import dxf_bytes
from scribe.piece import Piece
from scribe.recipes.fitted import fitted_piece

JOB = Path(__file__).parents[3] / "fixtures/pipe-boxing/job.toml"


@pytest.fixture(scope="module")
def boxing() -> Piece:
    return fitted_piece(read_job(JOB), "boxing front", lambda _: None)


@pytest.fixture(scope="module")
def document(boxing: Piece, tmp_path_factory: pytest.TempPathFactory) -> Drawing:
    path = tmp_path_factory.mktemp("dxf") / "a.dxf"
    path.write_bytes(dxf_bytes(draw(boxing), boxing))
    return ezdxf.readfile(path)


def test_holes_to_bore_are_circles_with_centre_and_diameter(document: Drawing) -> None:
    """Two pipes of 22 mm with 5 mm all round, at 150 and 230 from the left, 130 from the top of
    360: bores of 32 mm at y = 230 (arithmetic of the job file).
    """
    circles = document.modelspace().query("CIRCLE[layer=='drill']")
    found = sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in circles)
    assert np.array(found) == pytest.approx(np.array([[150.0, 230, 32], [230, 230, 32]]), abs=1e-6)
    assert document.layers.get("drill").dxf.plot == 1


def test_nothing_is_cut_twice(document: Drawing, boxing: Piece) -> None:
    """The lid and the duct are openings; what is drilled isn't cut out as well."""
    openings = document.modelspace().query("LWPOLYLINE[layer=='openings']")
    assert len(openings) == len(boxing.keep.holes) - 2 == 2
    assert all(line.closed for line in openings)
    sizes = sorted(np.ptp([p[:2] for p in line.get_points()], axis=0)[0] for line in openings)
    # The duct, drawn 50 mm wide, with 2 mm all round; the stopcock's opening of 140 mm.
    assert sizes == pytest.approx([54.0, 140.0], abs=0.2)


def test_the_split_has_a_layer_of_its_own(document: Drawing) -> None:
    [line] = document.modelspace().query("LINE[layer=='split']")
    ends = sorted([line.dxf.start.x, line.dxf.end.x])
    assert ends == pytest.approx([0.0, 700.0], abs=1e-6)
    assert line.dxf.start.y == pytest.approx(230.0)
    assert not document.audit().errors


def test_a_slot_is_no_hole_to_bore(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    words = JOB.read_text("utf-8").replace('way = "split"', 'way = "slot"')
    for name in ("floor.csv", "duct.svg"):
        (tmp_path / name).write_bytes((JOB.parent / name).read_bytes())
    job.write_text(words.replace('towards = "left"', 'towards = "top"'), "utf-8")
    slotted = fitted_piece(read_job(job), "boxing front", lambda _: None)
    (tmp_path / "a.dxf").write_bytes(dxf_bytes(draw(slotted), slotted))
    space = ezdxf.readfile(tmp_path / "a.dxf").modelspace()
    assert not space.query("CIRCLE[layer=='drill']")
    assert not space.query("LINE[layer=='split']")
