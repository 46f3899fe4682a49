"""The story of docs/first-strip.md on the page: its ten stops, and what the screen says at each.

The tests walk through it; `python -m tests.web.browser.write_pictures` takes a picture at every
stop. What the screen says there is kept beside the pictures: where it says something else by
now, the pictures are stale, and a test says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from tests.web.browser import drive

STOPS = (
    "begin", "sheet", "bars", "what", "judged", "line", "pull", "piece", "cut", "template",
)  # fmt: skip

# The words of a screen by which a reader would know it: headings, what can be pressed, labels.
_SAID = """() => {
  const shown = each => each.offsetParent && !each.closest('.unseen, [hidden], #list');
  const words = each => (each.getAttribute('aria-label') ?? each.innerText).trim();
  return [...document.querySelectorAll('h1, h2, h3, legend, label, button, a, summary, dt, th')]
    .filter(shown).map(each => `${each.tagName.toLowerCase()} ${words(each)}`);
}"""


def said(page: Any) -> list[str]:
    """What the screen says, without its numbers and dates: those are another day's."""
    lines = []
    for line in page.evaluate(_SAID):
        plain = re.sub(r"\s+", " ", re.sub(r"[-+]?\d[\d.,:]*", "#", line)).strip()
        lines.append(plain)
    return lines


def stops(page: Any) -> Iterator[str]:
    """Walk the path on an open page; yields the name of each stop but the last, which is paper."""
    yield from _to_the_photo(page)
    yield from _to_the_cut(page)


def _to_the_photo(page: Any) -> Iterator[str]:
    page.get_by_label("A new job").fill("harbour cottage")
    yield "begin"
    root = drive.begin(page, "harbour cottage")
    yield "sheet"
    page.get_by_label("Bar along the foot").scroll_into_view_if_needed()
    drive.bars(page, "150.2", "150.1")
    page.get_by_text("Readings kept").wait_for()
    page.locator("#bars-title").evaluate("each => each.scrollIntoView({block: 'start'})")
    yield "bars"
    page.goto(f"{root}/photos")
    page.locator("#of-line").check(force=True)
    page.wait_for_url("**of=line*")
    page.get_by_label("What part of the building is it?").fill("breast")
    page.get_by_label("Height above the sheet").fill("0")
    page.evaluate("window.scrollTo(0, 0)")
    yield "what"
    page.locator("[data-photo]").first.set_input_files(drive.DEMO / "breast.jpg")
    page.wait_for_url("**outline=breast#taken")
    page.get_by_text("marks found").wait_for()
    page.locator(".working").wait_for(state="detached")
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    yield "judged"


def _to_the_cut(page: Any) -> Iterator[str]:
    page.get_by_role("link", name="On to the outline").click()
    page.wait_for_selector(f"{drive.LINE}:visible")
    page.wait_for_selector(".figures")
    page.evaluate("window.scrollTo(0, 0)")
    yield "line"
    page.get_by_role("button", name="Move", exact=True).click()
    x, y = drive.on_screen(page, 0.5)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 1, y + 12, steps=4)
    yield "pull"
    page.mouse.move(x, y, steps=4)  # it was right where it was
    page.mouse.up()
    assert page.get_by_text("Back to the line as traced").count() == 0
    page.get_by_role("link", name="on to the piece").click()
    page.get_by_label("What is it called?").fill("breast infill")
    page.get_by_role("button", name="Begin the piece").click()
    page.wait_for_selector("#drawing svg")
    for label, value in (("Length", "110"), ("Must stay visible", "30"), ("Clearance", "0,5")):
        page.get_by_label(label).fill(value)
    page.get_by_label("Clearance").blur()
    page.get_by_text("Saved", exact=True).wait_for()
    page.locator("#drawing:not([aria-busy]) svg").wait_for()
    page.evaluate("window.scrollTo(0, 0)")
    yield "piece"
    page.get_by_role("link", name="On to the cut").click()
    page.get_by_role("button", name="Make the template").click()
    page.wait_for_selector("table.stations")
    with page.expect_response("**/ticks"):
        page.locator("[data-station]").first.check()
    page.locator("table.stations").evaluate("each => each.scrollIntoView({block: 'center'})")
    yield "cut"


def template(page: Any) -> bytes:
    """The PDF of the last stop."""
    link = page.get_by_role("link", name="PDF to print", exact=True)
    answer = page.context.request.get(link.evaluate("each => each.href"))
    assert answer.ok
    pdf: bytes = answer.body()
    return pdf
