"""A fascia beside a chimney breast, taken in three pieces: the files of fixtures/fascia.

`python -m tests.scenes.fascia` writes them again, with the truth beside them. The wall is
scribed on a board and photographed with strips (five photos, traced here: only their outline is
kept), its foot over the skirting is taken with the gauge (one photo), the ceiling with a short
level walked along in two steps, and the corner between ceiling and wall with a bevel.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from scribe.outline import Outline
from tests.scenes.outlines import Array, Curve
from tests.scenes.run import Run, make_run
from tests.scenes.scene import make_scene, render

FOLDER = Path(__file__).parents[2] / "fixtures" / "fascia"
LENGTH, SEED = 1200.0, 4
SHARED, SKIRTING, PROUD = 72.0, 56.0, 15.0  # mm of wall and of skirting under the gauge
GAUGE_X, GAUGE_Y = 44.0, 232.0  # where the gauge's first pins lie on its sheet
ANGLE_DEG, STEPS, SLOPES = 91.2, (60.0, 60.0), (4.0, 1.5)  # of corner and ceiling


def run() -> Run:
    """The photos of the scribed board; x grows from the ceiling to the floor."""
    return make_run(LENGTH, 5, SEED, megapixels=6.0, grain=False)


def wall(x: Array) -> Array:
    """The scribed line in the frame of the first strip."""
    truth = run().truth
    return np.interp(x, truth[:, 0], truth[:, 1])


def foot(end: float) -> Array:
    """(N, 2) truth of what the gauge was pushed over, in the frame of the first strip."""
    x = np.arange(end - SHARED, end + SKIRTING, 0.1)
    past = np.clip((x - end) / 3.0, 0.0, 1.0)
    last = float(wall(np.array([end - 1.0]))[0])
    y = np.where(x < end, wall(np.minimum(x, end - 0.5)), last) - PROUD * past**2 * (3 - 2 * past)
    return np.column_stack([x, y])


def ceiling(start: Array, leg: Array) -> Array:
    """(3, 2) truth of the ceiling, from the room to the corner, in the same frame.

    leg: from the corner to the wall where the bevel's blade ended.
    """
    along = np.concatenate([[0.0], np.cumsum(STEPS)])
    height = np.concatenate([[0.0], np.cumsum(np.array(STEPS) * SLOPES * 1e-3)])
    own = np.column_stack([along, height])
    chord = own[0] - own[-1]
    wanted = np.arctan2(leg[1], leg[0]) - np.radians(ANGLE_DEG)  # the room is on the right
    turn = wanted - np.arctan2(chord[1], chord[0])
    c, s = np.cos(turn), np.sin(turn)
    return np.asarray((own - own[-1]) @ np.array([[c, s], [-s, c]]) + start)


def truth(first: float, end: float) -> Array:
    """(N, 2) all of it, ceiling, wall and skirting, in the frame of the first strip."""
    x = np.arange(first, end - SHARED, 0.5)
    side = np.column_stack([x, wall(x)])
    blade = side[int(np.argmax(np.hypot(*(side - side[0]).T) >= 200.0))]
    return np.vstack([ceiling(side[0], blade - side[0])[:-1], side, foot(end)])


JOB = """# A fascia of 18 mm between a cupboard and the chimney breast, under the ceiling and over
# the skirting. Its right-hand edge follows three outlines, each taken in its own way.

name = "harbour cottage, fascia beside the chimney breast"

# The wall, scribed on a board with strips taped along it: traced from five photos.
[outline.wall]
file = "wall.json"
end = "ceiling"

# Its foot, with the gauge over the skirting; pins 5 mm above the sheet.
[outline.skirting]
photo = "skirting.jpg"
of = "gauge"
height = 5
bars = [150, 150]
datum = "sheet axis"

# The ceiling over the fascia, with a short level walked towards the wall.
[outline.ceiling]
readings = "ceiling.csv"
as = "level"
building = "above"
surface = "flat"

[outline.side]
join = ["ceiling", "wall", "skirting"]

# The bevel laid into the corner of ceiling and wall.
[[outline.side.joint]]
by = "corner"
angle = {angle}
angle_u95 = 0.3

# A pencil mark on the wall that both show, at these stations.
[[outline.side.joint]]
by = "overlap"
overlap = {shared}
mark = [{mark_wall}, {mark_gauge}]

[[piece]]
name = "fascia"
blank = {{ length = {length}, width = 110, thickness = 18 }}
up = "left"

[[piece.edge]]
outline = "side"
edge = "top"
clearance = 0.5
from = "left"
"""


def _thinned(outline: Outline) -> Outline:
    """Every fifth point: a fixture needn't be large."""
    keep = np.unique(np.append(np.arange(0, len(outline), 5), len(outline) - 1))
    return outline.with_(
        points=outline.points[keep],
        u=outline.u[keep],
        measured=outline.measured[keep],
        budget={name: part[keep] for name, part in outline.budget.items()},
        shared={name: modes[:, keep] for name, modes in outline.shared.items()},
    )


def main() -> None:
    """Write photo, traced outline, readings, job and truth."""
    from scribe.outline_file import outline_json
    from scribe.recipes.trace import trace
    from scribe.source import PhotoSource

    FOLDER.mkdir(parents=True, exist_ok=True)
    made = run()
    with tempfile.TemporaryDirectory() as folder:
        photos = tuple(made.write(Path(folder)))
        traced = _thinned(trace(PhotoSource(photos, "line", height=0.0), lambda _: None).outline)
    (FOLDER / "wall.json").write_text(outline_json(traced), "utf-8")
    first, end = float(traced.points[0, 0]), float(traced.points[-1, 0])
    profile = foot(end)
    low = profile[0, 0]
    drawn = profile[:, 1] - profile[0, 1] + GAUGE_Y
    outline = Curve(GAUGE_X, drawn, step=0.1)
    scene = make_scene("gauge", 14, megapixels=4.0, outline=outline, material="black", tip="round",
                       pitch=1.0, height=5.0, table="wood", fill=0.94, tilt_deg=12.0, number=9,
                       quality=86)  # fmt: skip
    (FOLDER / "skirting.jpg").write_bytes(render(scene))
    rows = "\n".join(f"{step:g},{slope:g}" for step, slope in zip(STEPS, SLOPES, strict=True))
    (FOLDER / "ceiling.csv").write_text(f"step,slope (mm/m)\n{rows}\n", "utf-8")
    mark = round(end - 20.0)
    text = JOB.format(
        angle=ANGLE_DEG,
        shared=round(SHARED),
        mark_wall=mark,
        mark_gauge=round(mark - low + GAUGE_X, 1),
        length=round(end - first) + 40,
    )
    (FOLDER / "job.toml").write_text(text, "utf-8")
    whole = truth(first, end)
    lines = "\n".join(f"{x:.3f},{y:.3f}" for x, y in whole)
    (FOLDER / "truth.csv").write_text("x_mm,y_mm\n" + lines + "\n", "utf-8")
    sys.stdout.write(f"wall from {first:.1f} to {end:.1f} mm, {len(traced)} points\n")


if __name__ == "__main__":
    main()
