"""Small photos for the page's tests: `python -m tests.scenes.page_photos` writes fixtures/page.

A run of two strips in three photos, with an older and darker line beside the one that is meant;
the edge of a board along two strips in two photos; and three photos of one sheet through one lens,
tilted to as many sides.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path

from tests.scenes.outlines import Array
from tests.scenes.run import Run, Surface, make_run
from tests.scenes.scene import make_scene, render
from tests.scenes.stroke import Stroke
from tests.scenes.texture import Texture

FOLDER = Path(__file__).parents[2] / "fixtures" / "page"
LENGTH, SEED = 720.0, 4
BOARD_MM = 18.0  # thick
APART = 22.0  # mm from the line that is meant to the older one, away from the strips
LENS = (-0.06, 0.03, 3e-4, -2e-4, 0.0)
VIEWS = ((3.0, 0.0), (28.0, -90.0), (30.0, 90.0))  # tilt and azimuth, degrees


@dataclass(frozen=True)
class Ruled:
    """A board with a line drawn on it before; stands where a Texture does."""

    board: Texture
    line: Stroke

    def at(self, x: Array, y: Array, footprint: float) -> Array:
        """As Texture.at."""
        return self.board.at(x, y, footprint) * self.line.light_left(x, y, footprint)


def run() -> Run:
    """The photos with both lines; `truth` is of the one that is meant."""
    plain = make_run(LENGTH, 3, SEED, megapixels=2.2, grain=False)
    meant, surface = plain.world.stroke, plain.world.sheet
    assert meant is not None
    assert isinstance(surface, Surface)
    path = replace(meant.path, values=meant.path.values + APART)
    older = replace(meant, path=path, darkness=0.85, width=0.9, seed=meant.seed + 1)
    ruled = replace(surface, board=Ruled(surface.board, older))
    world = replace(plain.world, sheet=ruled, stroke=replace(meant, darkness=0.5))
    return replace(plain, world=world, sensor=replace(plain.sensor, quality=84))


def board() -> Run:
    """A board of BOARD_MM with its edge along two strips, longer than any sheet."""
    made = make_run(640.0, 2, SEED + 1, megapixels=2.0, thick=BOARD_MM, grain=False)
    return replace(made, sensor=replace(made.sensor, quality=82))


def write_run(made: Run, name: str) -> None:
    """Its photos, and what a tape says between the outer crosses."""
    for k, path in enumerate(made.write(FOLDER)):
        path.rename(FOLDER / f"{name}-{k + 1}.jpg")
    sys.stdout.write(f"{name}: cross 1A to 2B {made.tape(1, 2):.2f} mm\n")


def main() -> None:
    """Write all of them, and the truth of the run."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    made = run()
    write_run(made, "run")
    write_run(board(), "board")
    rows = "".join(f"{x:.3f},{y:.3f}\n" for x, y in made.truth[::10])
    (FOLDER / "run.csv").write_text(f"x_mm,y_mm\n{rows}", "utf-8")
    for k, (tilt, azimuth) in enumerate(VIEWS):
        scene = make_scene(
            "line", 300 + k, megapixels=1.2, tilt_deg=tilt, azimuth_deg=azimuth, focal_35mm=26.0,
            lens=LENS, fill=0.95, height=0.0, material="plain", shape="smooth",
            orientation=6, sharpen=0.0, bend=0.0, quality=80,
        )  # fmt: skip
        (FOLDER / f"lens-{k + 1}.jpg").write_bytes(render(scene))
    size = sum(path.stat().st_size for path in FOLDER.glob("*.jpg"))
    sys.stdout.write(f"{FOLDER}: {size / 1000:.0f} kB\n")


if __name__ == "__main__":
    main()
