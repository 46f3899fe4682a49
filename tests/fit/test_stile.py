"""A stile that is fitted already as the second edge of an infill, from the job file on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.recipes.fitted import fitted_piece

WALL = [(0.0, 1.2), (300.0, -0.8), (700.0, 2.0), (1100.0, 0.4)]  # off a plumb line, mm
LEAN = 0.003  # the stile leans 3 mm on a metre towards the wall
APART = 118.0  # from the wall's plumb line to the stile's foot


def job(folder: Path, width: float = 130.0) -> Path:
    """An upright infill: its right edge meets the wall, its left one the stile, 0.3 mm free."""
    rows = "".join(f"{station},{offset}\n" for station, offset in WALL)
    (folder / "wall.csv").write_text("station,offset\n" + rows, "utf-8")
    stile = "".join(f"{s},{-LEAN * s}\n" for s in (0.0, 1100.0))
    (folder / "stile.csv").write_text("station,offset\n" + stile, "utf-8")
    path = folder / "job.toml"
    path.write_text(
        '[outline.wall]\nreadings = "wall.csv"\nas = "offsets"\nbuilding = "right"\n'
        '[outline.stile]\nreadings = "stile.csv"\nas = "offsets"\nbuilding = "left"\n'
        'datum = "sheet axis"\n'
        f'[[piece]]\nname = "infill"\nblank = {{ length = {width}, width = 1100 }}\n'
        '[[piece.edge]]\noutline = "stile"\nedge = "left"\nfrom = "bottom"\nclearance = 0.3\n'
        '[[piece.edge]]\noutline = "wall"\nedge = "right"\nfrom = "bottom"\n'
        f"opening = {APART}\n",
        "utf-8",
    )
    return path


def test_the_infill_fills_what_is_between_stile_and_wall(tmp_path: Path) -> None:
    """Its width at a height is what is there: apart + wall - stile - 0.3 mm (arithmetic).

    Offsets count towards the building on either side: the wall's make the gap wider, and so would
    the stile's; it leans in, so its are negative.
    """
    infill = fitted_piece(read_job(job(tmp_path)), "infill", lambda _: None)
    assert sorted(cut.edge for cut in infill.cuts) == ["left", "right"]
    for height, wall in WALL[1:3]:  # what a wall does between two readings, nobody read
        expected = APART + wall - LEAN * height - 0.3
        left, right = (
            float(np.interp(height, line[:, 1], line[:, 0]))
            for line in (_rising(cut.line) for cut in sorted(infill.cuts, key=lambda c: c.edge))
        )
        # The clearance is square to a stile that leans 3 in 1000: 0.3 (sqrt(1 + m^2) - 1) = 1e-6.
        assert right - left == pytest.approx(expected, abs=1e-4)


def test_a_blank_that_is_too_narrow_for_both_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        fitted_piece(read_job(job(tmp_path, width=112.0)), "infill", lambda _: None)
    assert caught.value.kind == "blank-too-small"


def _rising(line: np.ndarray) -> np.ndarray:
    return line if line[-1, 1] > line[0, 1] else line[::-1]
