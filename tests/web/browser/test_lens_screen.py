"""The phone's lens on its screen: learnt from photos of the sheet, taken over by another job."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.scenes.page_photos import LENS
from tests.web.browser.conftest import Served

PHOTOS = Path(__file__).parents[3] / "fixtures/page"


def test_a_lens_is_learnt_and_taken_over(
    opened: Callable[..., Any], served: Served, copied: Callable[..., str]
) -> None:
    page = opened()
    page.goto(f"{copied('lens-learnt')}/photos")
    page.get_by_role("link", name="The phone's lens").click()
    learn = page.get_by_role("button", name="Learn the lens")
    assert learn.is_disabled()
    photos = [*sorted(PHOTOS.glob("lens-*.jpg")), PHOTOS / "run-1.jpg"]
    page.locator("[data-lens]").last.set_input_files(photos)
    page.get_by_text("1 more would do it well.").wait_for()
    learn.tap()
    page.get_by_text("The photos are from different cameras, or were cropped").wait_for()
    page.get_by_role("button", name="Take away the photo run-1.jpg").tap()
    page.get_by_text("2 more would do it well.").wait_for()
    learn.tap()
    page.get_by_text("The lens is known, from 3 photos.").wait_for()
    learnt(served.folder / "lens-learnt")
    page.get_by_text("The lens in numbers").tap()
    drawn = page.locator("#learnt img")
    assert drawn.evaluate("each => each.decode().then(() => each.naturalWidth)") > 100
    assert "photos are few" in page.locator("#learnt").inner_text()
    page.get_by_role("link", name="Back to the photos").click()
    page.get_by_text("This phone's lens is known.").wait_for()
    page.goto(f"{copied('lens-lent')}/lens")
    page.get_by_label("Or take the lens that another job knows").select_option("lens-learnt")
    page.get_by_role("button", name="Take it over").tap()
    page.get_by_text("The lens is known, from 3 photos.").wait_for()
    learnt(served.folder / "lens-lent")


def learnt(folder: Path) -> None:
    """The lens that took the photos, and every outline of the job names it.

    Its k1 lies within what the file says (U, k = 2; 0.0023 of 0.06) four times over.
    """
    assert 'camera = "camera-1.toml"' in (folder / "job.toml").read_text("utf-8")
    kept = json.loads((folder / ".page/camera.json").read_text("utf-8"))
    said = " ".join(kept["lines"])
    found = re.search(r"k1 ([-+.\d]+), U ([.\d]+)", said)
    assert found is not None, said
    assert float(found[1]) == pytest.approx(LENS[0], abs=4.0 * float(found[2]))
    assert 0.0 < float(found[2]) < 0.01
