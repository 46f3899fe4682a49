"""Every screen by axe-core (WCAG 2.2 A and AA, and text at 7 : 1), light and dark; thumbs; keys."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import drive
from tests.web.browser.conftest import DESK, PHONE, Served

PLACES = ("", "print", "photos", "outline", "piece", "cut", "lens")
# axe's tags for WCAG 2.0 to 2.2, levels A and AA.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OPTIONS = {
    "runOnly": {"type": "tag", "values": TAGS},
    "rules": {"color-contrast-enhanced": {"enabled": True}},  # 1.4.6 Contrast (Enhanced)
}
# What keeps screens for later, of which test_path and test_troubles have the tests, costs a fifth.
BROWSER_OPTIONS = {"service_workers": "block"}
THUMB_PX = 44  # 2.5.5 Target Size (Enhanced); AA asks for 24


@pytest.fixture
def whole(cottage: Path, served: Served) -> str:
    """A job that has been through all places, with a long name."""
    return f"{served.root}/jobs/{cottage.name}"


def visit(page: Any, root: str, place: str) -> None:
    page.goto(f"{root}/{place}" if place else "/".join(root.split("/")[:3]) + "/")
    page.wait_for_load_state("load")
    if place == "outline":
        page.wait_for_selector(f"{drive.LINE}:visible")
    if place == "piece":
        page.wait_for_selector("#drawing svg")


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
def test_axe_and_thumbs_find_nothing(opened: Callable[..., Any], whole: str, scheme: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(PHONE, color_scheme=scheme)
    found, small = [], []
    for place in PLACES:
        visit(page, whole, place)
        small += too_small(page, place)
        for details in page.locator("details").all():
            details.evaluate("each => { each.open = true; }")
        result = Axe().run(page, options=OPTIONS)
        for fault in result.response["violations"]:
            first = fault["nodes"][0]
            found.append((place, fault["id"], first["html"][:120], first["failureSummary"]))
    assert found == []
    assert small == []


def too_small(page: Any, place: str) -> list[Any]:
    """What can be pressed on a screen and is smaller than a thumb."""
    found: list[Any] = page.evaluate(
        """([place, least]) => [...document.querySelectorAll('button, a[href], select, summary,'
             + ' input:not([type=radio], [type=file], .unseen)')]
          .filter(each => each.offsetParent && !each.closest('.unseen, p, li > p, .handles'))
          .map(each => (each.closest('label.box, label.tick') ?? each))
          .map(each => [each, each.getBoundingClientRect()])
          .filter(([each, box]) => box.height < least - 0.5 || box.width < least - 0.5)
          .map(([each, box]) => [place, each.outerHTML.slice(0, 80), box.width, box.height])""",
        [place, THUMB_PX],
    )
    return found


def test_nothing_runs_over_the_edge(opened: Callable[..., Any], whole: str) -> None:
    page = opened(DESK)
    for place in PLACES:
        visit(page, whole, place)
        for width in (320, 390, 768, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            over = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            assert over <= 0, (place, width)


def test_the_report_runs_over_no_edge(opened: Callable[..., Any], cottage: Path) -> None:
    page = opened(PHONE)
    page.goto((cottage / "made/report.html").as_uri())
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") == width


def test_the_path_is_walked_by_keys_alone(opened: Callable[..., Any], whole: str) -> None:
    page = opened(DESK)
    visit(page, whole, "print")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the work"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    names = []
    for _ in range(12):
        page.keyboard.press("Tab")
        names.append(page.evaluate("document.activeElement.id || document.activeElement.name"))
    assert {"paper", "copies", "bar-x", "bar-y"} <= set(names)
