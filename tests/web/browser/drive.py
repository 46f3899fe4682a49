"""What a fitter does on the page, step by step, as the tests and the picture maker share it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from scribe.outline import Outline
from scribe.recipes.correct import pixels_of
from scribe.recipes.sight import Sight

DEMO = Path(__file__).parents[3] / "scribe/demo_data"
RUN = Path(__file__).parents[3] / "fixtures/page"
BOARD = sorted(RUN.glob("board-*.jpg"))
TAPE = "1A", "2B", "616.6"  # as tests.scenes.page_photos prints it for the board
LINE = "polyline.line"
TRUTH = np.loadtxt(RUN / "run.csv", delimiter=",", skiprows=1)  # of the run's line that is meant


def begin(page: Any, name: str) -> str:
    """A new job; its address."""
    page.goto("/".join(page.url.split("/")[:3]) + "/")
    page.get_by_label("A new job").fill(name)
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/jobs/*/print")
    return str(page.url.rsplit("/", 1)[0])


def bars(page: Any, x: str, y: str) -> None:
    """Type what the check bars read."""
    page.get_by_label("Bar along the foot").fill(x)
    page.get_by_label("Bar up the side").fill(y)
    page.get_by_role("button", name="Keep these readings").click()


def photograph(page: Any, name: str, of: str, height: str, photo: Path) -> None:
    """The first photo of an outline, on the photos' screen of a new outline."""
    page.locator(f"#of-{of}").check(force=True)
    if of != "gauge":
        page.wait_for_url(f"**of={of}*")
    page.get_by_label("What part of the building is it?").fill(name)
    page.get_by_label("Height above the sheet").fill(height)
    page.locator("[data-photo]").first.set_input_files(photo)
    page.wait_for_url("**outline=*")
    page.wait_for_selector(".verdict")


def breast(page: Any, root: str) -> None:
    """The chimney breast of the demo: photographed, traced, and its line on the screen."""
    page.goto(f"{root}/photos")
    photograph(page, "breast", "line", "0", DEMO / "breast.jpg")
    page.get_by_role("link", name="On to the outline").click()
    page.wait_for_selector(f"{LINE}:visible")
    page.wait_for_selector(".figures")


def infill(page: Any, root: str) -> None:
    """A piece on it, drawn."""
    page.goto(f"{root}/piece")
    page.get_by_label("What is it called?").fill("breast infill")
    page.get_by_role("button", name="Begin the piece").click()
    page.wait_for_selector("#drawing svg")


def made(page: Any, root: str) -> None:
    """The template, and its table on the screen."""
    page.goto(f"{root}/cut")
    page.get_by_role("button", name="Make the template").click()
    page.wait_for_selector("table.stations")


def run(page: Any, root: str) -> None:
    """The photos of a run, taken as one outline, on the photos' screen."""
    _together(page, root, "line", "0", sorted(RUN.glob("run-*.jpg")))


def show_line(page: Any, job: Path) -> None:
    """The line that is meant, shown in every photo of the run, and traced: there are two, and
    nobody said which.
    """
    page.get_by_text("There are two lines").wait_for(timeout=60_000)
    page.get_by_text("Show where it runs").wait_for()
    (kept,) = (job / ".page/sights").glob("long-wall-*-places.json")
    for k, content in enumerate(json.loads(kept.read_text("utf-8"))["sights"]):
        if k:
            page.get_by_label("The next photo").tap()
        for place in _on_line(Sight.of_content(content)):
            page.touchscreen.tap(*of_photo(page, place))
    page.get_by_role("button", name="Trace this edge").tap()
    page.locator(".figures").wait_for(timeout=60_000)
    page.locator(".working").wait_for(state="detached")


def _on_line(sight: Sight) -> list[Any]:
    """Six places of a photo that lie on the line that is meant, px."""
    height, width = len(sight.grid_mm) - 1, len(sight.grid_mm[0]) - 1
    x = sight.grid_mm[height // 2, [width // 8, -width // 8], 0]
    wanted = np.linspace(*np.clip(np.sort(x), TRUTH[0, 0], TRUTH[-1, 0]), 8)[1:-1]
    line = np.column_stack([wanted, np.interp(wanted, *TRUTH.T)])
    middle = np.tile((np.array(sight.size_px, float) - 1) / 2, (len(line), 1))
    start = replace(sight, outline_px=middle, first=0)
    return list(pixels_of(Outline(line, np.full(len(line), 0.1), "left"), start).outline_px)


def edge_run(page: Any, root: str) -> None:
    """The same of a board's edge along strips, with a tape's reading between them."""
    _together(page, root, "edge", "18", BOARD)
    for label, typed in zip(("From cross", "to cross", "The tape reads"), TAPE, strict=True):
        page.get_by_label(label).fill(typed)
    page.get_by_role("button", name="Keep this distance").click()
    page.get_by_text("1A to 2B: 616.6 mm").wait_for()


def _together(page: Any, root: str, of: str, height: str, photos: list[Path]) -> None:
    page.goto(f"{root}/photos")
    page.locator(f"#of-{of}").check(force=True)
    page.wait_for_url(f"**of={of}*")
    page.get_by_label("What part of the building is it?").fill("long wall")
    page.get_by_label("Height above the sheet").fill(height)
    page.locator("[data-photo]").last.set_input_files(photos)
    page.get_by_role("heading", name="A long edge, in several photos").wait_for()


def on_screen(page: Any, part: float) -> tuple[float, float]:
    """Where a part of the traced line lies on the screen, CSS px."""
    x, y = page.evaluate(
        """part => {
          const line = document.querySelector('polyline.line');
          const at = line.points[Math.round(part * (line.points.length - 1))];
          const m = line.getScreenCTM();
          return [at.x * m.a + m.e, at.y * m.d + m.f];
        }""",
        part,
    )
    return float(x), float(y)


def of_photo(page: Any, place: Any) -> tuple[float, float]:
    """Where a place of the photo on the stage, px, lies on the screen, CSS px."""
    x, y = page.evaluate(
        """([x, y]) => {
          const m = document.querySelector('.stage svg g').getScreenCTM();
          return [x * m.a + m.e, y * m.d + m.f];
        }""",
        [float(each) for each in place],
    )
    return float(x), float(y)


class Fingers:
    """Real touches: what a browser makes of them is part of what is tested."""

    def __init__(self, page: Any) -> None:
        self.wire = page.context.new_cdp_session(page)

    def _send(self, kind: str, *points: tuple[float, float]) -> None:
        touched = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
        self.wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touched})

    def drag(
        self, start: tuple[float, float], to: tuple[float, float], *, lift: bool = True
    ) -> None:
        """One finger, in eight steps."""
        self._send("touchStart", start)
        for k in range(1, 9):
            part = k / 8
            x, y = (a + part * (b - a) for a, b in zip(start, to, strict=True))
            self._send("touchMove", (x, y))
        if lift:
            self.lift()

    def lift(self) -> None:
        """Take the finger away."""
        self._send("touchEnd")

    def pinch(self, middle: tuple[float, float], before: float, after: float) -> None:
        """Two fingers, `before` px apart, then `after`."""
        x, y = middle

        def pair(apart: float) -> tuple[tuple[float, float], tuple[float, float]]:
            return (x - apart / 2, y), (x + apart / 2, y)

        self._send("touchStart", *pair(before))
        for k in range(1, 9):
            self._send("touchMove", *pair(before + (after - before) * k / 8))
        self.lift()


def number(text: str) -> float:
    """The first number of a text."""
    found = re.search(r"-?\d+(\.\d+)?", text)
    assert found, text
    return float(found[0])
