"""The outline put right with a finger, with keys, and looked at closely."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from tests.web.browser import drive
from tests.web.browser.conftest import DESK, Served

# What keeps screens for later, of which test_path and test_troubles have the tests, costs a fifth.
BROWSER_OPTIONS = {"service_workers": "block"}


@pytest.fixture(scope="module")
def traced(cottage: Path, served: Served) -> str:
    """A job with a traced outline; its address."""
    shutil.copytree(cottage, served.folder / "outlines")
    return f"{served.root}/jobs/outlines"


def shown(page: Any, root: str) -> None:
    page.goto(f"{root}/outline")
    page.wait_for_selector(f"{drive.LINE}:visible")


def corrections(folder: Path) -> list[Path]:
    return sorted((folder / "outlines/outlines/breast").glob("corrected-*.json"))


def points(path: Path) -> list[list[float]]:
    found: list[list[float]] = json.loads(path.read_text("utf-8"))["points_mm"]
    return found


def test_a_finger_pulls_a_point(opened: Callable[..., Any], served: Served, traced: str) -> None:
    page = opened()
    shown(page, traced)
    page.get_by_role("button", name="Move", exact=True).tap()
    x, y = drive.on_screen(page, 0.5)
    fingers = drive.Fingers(page)
    fingers.drag((x, y + 6), (x, y + 26), lift=False)
    assert page.locator(".loupe").is_visible()
    with page.expect_response("**/corrections") as answer:
        fingers.lift()
    assert answer.value.ok
    page.get_by_text("Back to the line as traced").wait_for()
    assert page.locator(".numbers tbody tr").count() == 11
    assert drive.number(page.locator(".numbers tbody th").last.text_content()) > 100
    assert page.locator(".loupe").is_hidden()
    # The point went down the screen by as much as the finger, wherever it had pressed beside it.
    assert drive.on_screen(page, 0.5)[1] - y == pytest.approx(20, abs=2)
    traced_points = points(served.folder / "outlines/outlines/breast/outline.json")
    moved = points(corrections(served.folder)[-1])
    assert len(moved) == len(traced_points)
    largest = max(abs(a[1] - b[1]) for a, b in zip(moved, traced_points, strict=True))
    assert largest > 3.0  # mm: 20 px of a screen that shows about 120 mm on 340 px
    assert moved[0] == traced_points[0]
    assert "by hand" in json.loads(corrections(served.folder)[-1].read_text("utf-8"))["budget_mm"]
    page.locator("#undo").tap()
    page.get_by_text("Back to the line as traced").wait_for(state="detached")


def test_keys_move_a_point(opened: Callable[..., Any], traced: str) -> None:
    page = opened(DESK)
    shown(page, traced)
    page.get_by_role("button", name="Move", exact=True).press("Enter")
    handle = page.get_by_role("button", name="Point 5 of 9")
    handle.focus()
    for _ in range(5):
        handle.press("Shift+ArrowDown")
    with page.expect_response("**/corrections") as answer:
        handle.press("Enter")
    assert answer.value.ok
    page.get_by_role("button", name="Back to the line as traced").click()
    page.get_by_text("Back to the line as traced").wait_for(state="detached")


def test_a_wrong_end_is_cut_off(opened: Callable[..., Any], traced: str) -> None:
    page = opened()
    shown(page, traced)
    before = drive.number(page.locator(".figures .big").first.inner_text())
    page.get_by_role("button", name="Cut off").tap()
    page.touchscreen.tap(*drive.on_screen(page, 0.1))
    page.get_by_role("button", name="Take it off").tap()
    page.get_by_text("Back to the line as traced").wait_for()
    after = drive.number(page.locator(".figures .big").first.inner_text())
    assert 0.75 * before < after < 0.95 * before
    page.locator("#undo").tap()
    page.get_by_text("Back to the line as traced").wait_for(state="detached")


def test_two_taps_say_where_it_starts_and_ends(opened: Callable[..., Any], traced: str) -> None:
    page = opened()
    shown(page, traced)
    page.get_by_role("button", name="Ends").tap()
    page.touchscreen.tap(*drive.on_screen(page, 0.15))
    page.touchscreen.tap(*drive.on_screen(page, 0.8))
    page.get_by_role("button", name="Trace between these").tap()
    page.wait_for_function(
        "() => parseFloat(document.querySelector('.figures .big')?.innerText) < 95"
    )
    length = drive.number(page.locator(".figures .big").first.inner_text())
    assert 70 < length < 95  # 0.65 of a course that is a little longer than its chord of 120 mm
    page.locator("#undo").tap()  # what it was traced from is no longer what counts
    page.wait_for_function(
        "() => parseFloat(document.querySelector('.figures .big')?.innerText) > 95"
    )


def test_fingers_look_closer(opened: Callable[..., Any], traced: str) -> None:
    page = opened()
    shown(page, traced)
    box = page.locator("#stage").bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    scale = "document.querySelector('polyline.line').getScreenCTM().a"
    before = page.evaluate(scale)
    drive.Fingers(page).pinch(middle, 80, 200)
    assert page.evaluate(scale) / before == pytest.approx(200 / 80, rel=0.05)
    page.get_by_role("button", name="The whole outline").tap()
    assert page.evaluate(scale) == pytest.approx(before, rel=0.01)
    page.touchscreen.tap(*middle)
    page.touchscreen.tap(*middle)
    assert page.evaluate(scale) / before == pytest.approx(3, rel=0.05)


def test_another_phone_sees_what_a_finger_did(
    opened: Callable[..., Any], served: Served, copied: Callable[..., str]
) -> None:
    root = copied("seen-twice")
    one, other = opened(), opened()
    for page in (one, other):
        shown(page, root)
    line = "document.querySelector('polyline.line').getAttribute('points')"
    before = other.evaluate(line)
    one.get_by_role("button", name="Move", exact=True).tap()
    x, y = drive.on_screen(one, 0.5)
    drive.Fingers(one).drag((x, y + 6), (x, y + 26))
    other.wait_for_function(f"before => {line} !== before", arg=before)
    # What it asks for next is asked of the line as it is now.
    other.get_by_role("button", name="Cut off").tap()
    other.touchscreen.tap(*drive.on_screen(other, 0.9))
    with other.expect_response("**/corrections") as answer:
        other.get_by_role("button", name="Take it off").tap()
    assert answer.value.ok
    names = [path.name for path in (served.folder / "seen-twice/outlines/breast").glob("corr*")]
    assert sorted(names) == ["corrected-1.json", "corrected-2.json"]


def test_of_two_lines_the_one_that_is_meant_is_shown(
    opened: Callable[..., Any], served: Served, tmp_path: Path
) -> None:
    page = opened()
    root = drive.begin(page, "two lines on one card")
    page.goto(f"{root}/photos")
    drive.photograph(page, "breast", "line", "0", two_lines(tmp_path / "two.jpg"))
    page.get_by_role("link", name="On to the outline").click()
    page.get_by_text("there are two lines").wait_for()
    assert page.get_by_text("Say which one with Ends or Other edge.", exact=True).is_visible()
    # The photo is there, without a line, and the tool that helps is in the hand.
    other = page.get_by_role("button", name="Other edge")
    expect(other).to_have_attribute("aria-pressed", "true")
    assert page.get_by_role("button", name="Move", exact=True).is_disabled()
    for place in (SECOND[0], (1495, 800), SECOND[1]):
        page.touchscreen.tap(*drive.of_photo(page, upright(place)))
    page.get_by_role("button", name="Trace this edge").tap()
    page.wait_for_selector(f"{drive.LINE}:visible")
    assert page.get_by_text("there are two lines").count() == 0
    traced = points(served.folder / "two-lines-on-one-card/outlines/breast/outline.json")
    # What was drawn is straight: some 140 mm, and no bow but a pencil's and the photo's.
    assert drive.number(page.locator(".figures .big").nth(1).inner_text()) < 0.5
    assert len(traced) > 200


SECOND = ((1440, 480), (1550, 1140))  # px of the photo as it is stored


def two_lines(path: Path) -> Path:
    """The demo's card with a second line on it, straight and about as dark."""
    with Image.open(drive.DEMO / "breast.jpg") as photo:
        exif, card = photo.info["exif"], photo.convert("RGB")
    ImageDraw.Draw(card).line(SECOND, fill=(125, 112, 98), width=3)
    card.save(path, quality=92, exif=exif)
    return path


def upright(place: tuple[float, float]) -> tuple[float, float]:
    """Of a place as stored: the photo's orientation of 8 turns it a quarter to the left."""
    x, y = place
    return y, 2309 - 1 - x
