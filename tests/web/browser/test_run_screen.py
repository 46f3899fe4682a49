"""A run of strips on a phone: photos taken together, a tape's reading, the line shown in each of
them and put right.

The photos of fixtures/page show two lines: the one that is meant, and an older, darker one.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.web.browser import drive, story
from tests.web.browser.conftest import PHONE, Served
from tests.web.browser.write_pictures import TEXTS


@pytest.fixture(scope="module")
def run(chromium: Any, served: Served) -> str:
    """A job with a run, its tape's reading given and its outline traced; the job's address."""
    context = chromium.new_context(**PHONE, reduced_motion="reduce")
    page = context.new_page()
    page.goto(served.door)
    root = drive.begin(page, "a wall of two strips")
    drive.run(page, root)
    taped(page)
    page.get_by_role("link", name="On to the outline").click()
    drive.show_line(page, folder_of(served, root))
    page.get_by_role("link", name="on to the piece").wait_for()
    context.close()
    return root


def folder_of(served: Served, root: str) -> Path:
    """Of the job at an address."""
    return served.folder / root.rsplit("/", 1)[1]


def taped(page: Any) -> None:
    """What the scene says of the outer crosses, with a decimal comma, after two mistakes."""
    keep = page.get_by_role("button", name="Keep this distance")
    page.get_by_label("From cross").fill("1 a")
    keep.click()
    page.get_by_text("A cross is named by its strip's number and its letter").wait_for()
    page.get_by_label("to cross").fill("1A")
    keep.click()
    page.get_by_text("These are one and the same cross").wait_for()
    page.get_by_label("to cross").fill("2B")
    page.get_by_label("The tape reads").fill("700,2")
    page.get_by_label("± U, if known").fill("0.4")
    keep.click()
    page.get_by_text("1A to 2B: 700.2 mm +/- 0.4").wait_for()


def at_the_outline(page: Any, root: str) -> None:
    page.goto(f"{root}/outline")
    page.wait_for_selector(f"{drive.LINE}:visible")


def off_truth(folder: Path) -> tuple[Any, Any]:
    """(N,) how far the outline that was traced last lies off the line that is meant, and its U."""
    content = json.loads((folder / "outlines/long-wall-88b092/outline.json").read_text("utf-8"))
    points, u = np.array(content["points_mm"]), np.array(content["u_mm"])
    return points[:, 1] - np.interp(points[:, 0], *drive.TRUTH.T), 2.0 * u


def test_what_a_tape_said_is_in_the_length(opened: Callable[..., Any], run: str) -> None:
    page = opened()
    at_the_outline(page, run)
    length = page.locator(".figures .big").first.inner_text()
    # 710 mm are drawn (tests.scenes.page_photos), but for where the line's ends are; the print
    # alone would leave 2.9 mm open (0.2 % of it, k = 2).
    assert drive.number(length) == pytest.approx(710.0, abs=1.5)
    assert drive.number(length.split("\u00b1")[1]) < 1.0
    assert page.locator("#turned").inner_text() == "1 of 3"
    kept = json.loads(TEXTS.read_text("utf-8"))["run"]
    page.get_by_label("The next photo").tap()
    assert story.said(page) == kept, "python -m tests.web.browser.write_pictures makes it anew"
    page.get_by_label("The photo before").tap()
    assert page.get_by_label("The photo before").is_disabled()
    narrow = opened({"viewport": {"width": 320, "height": 800}})
    at_the_outline(narrow, run)
    assert narrow.evaluate("document.documentElement.scrollWidth") == 320


def copied(served: Served, run: str, ident: str) -> Path:
    """A copy of the job under another id; its folder."""
    shutil.copytree(folder_of(served, run), served.folder / ident)
    return served.folder / ident


def test_a_finger_puts_a_run_right_in_any_of_its_photos(
    opened: Callable[..., Any], served: Served, run: str
) -> None:
    page = opened()
    folder = copied(served, run, "pulled") / "outlines/long-wall-88b092"
    at_the_outline(page, f"{served.root}/jobs/pulled")
    page.get_by_label("The next photo").tap()
    page.get_by_role("button", name="Move", exact=True).tap()
    x, y = drive.on_screen(page, 0.5)
    with page.expect_response("**/corrections") as answer:
        drive.Fingers(page).drag((x, y + 6), (x, y + 12))
    assert answer.value.ok
    page.get_by_text("Back to the line as traced").wait_for()
    assert page.locator("#turned").inner_text() == "2 of 3"
    before, after = (
        np.array(json.loads((folder / name).read_text("utf-8"))["points_mm"])
        for name in ("outline.json", "corrected-1.json")
    )
    moved = before[np.abs(after - before).max(axis=1) > 1e-9, 0]
    # In the middle of the middle photo, and over a sixth of what that photo shows.
    assert np.mean(moved) == pytest.approx(355.0, abs=40.0)
    assert 60.0 < np.ptp(moved) < 120.0
    page.get_by_label("The next photo").tap()
    page.get_by_role("button", name="Cut off").tap()
    page.touchscreen.tap(*drive.on_screen(page, 0.7))
    page.get_by_text("the line in the photos after this one").wait_for()
    page.get_by_role("button", name="Take it off").tap()
    page.wait_for_function(
        "() => parseFloat(document.querySelector('.figures .big').innerText) < 690"
    )
    page.locator("#undo").tap()
    page.wait_for_function(
        "() => parseFloat(document.querySelector('.figures .big')?.innerText) > 700"
    )


def test_of_two_lines_the_one_is_traced_that_was_shown(served: Served, run: str) -> None:
    folder = folder_of(served, run)
    off, U = off_truth(folder)
    assert np.mean(np.abs(off) < U) > 0.9
    assert "near = " in (folder / "job.toml").read_text("utf-8")
