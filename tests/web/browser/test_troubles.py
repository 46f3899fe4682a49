"""What goes wrong at the wall: no secret, no server, second thoughts, two screens on one job."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.web.browser import drive
from tests.web.browser.conftest import DESK, PHONE, SLOWEST_MS, Served, serve


def test_a_wrong_secret_opens_nothing(opened: Callable[..., Any], served: Served) -> None:
    page = opened(door=f"{served.root}/?key=guessed")
    assert "opens with its whole address only" in page.inner_text("body")
    assert page.goto(f"{served.root}/api/jobs").status == 403
    assert page.goto(f"{served.root}/static/page.css").status == 403
    assert page.context.cookies() == []


def test_work_is_cancelled(opened: Callable[..., Any], served: Served, tmp_path: Path) -> None:
    # Some 100 megapixels: long enough at work that somebody can change their mind.
    large = tmp_path / "large.jpg"
    with Image.open(drive.DEMO / "breast.jpg") as photo:
        photo.resize((8600, 11460)).save(large, quality=80)
    page = opened()
    root = drive.begin(page, "second thoughts")
    page.goto(f"{root}/photos")
    page.locator("#of-line").check(force=True)
    page.wait_for_url("**of=line*")
    page.get_by_label("What part of the building is it?").fill("breast")
    page.locator("[data-photo]").first.set_input_files(large)
    page.wait_for_url("**outline=breast#taken")
    page.get_by_role("button", name="Cancel").click()
    page.locator(".working").wait_for(state="detached")
    works = sorted((served.folder / "second-thoughts/.page/works").glob("*.json"))
    assert [json.loads(work.read_text("utf-8"))["state"] for work in works] == ["stopped"]
    page.get_by_role("link", name="On to the outline").click()
    page.get_by_text("It was cancelled.").wait_for()
    page.get_by_role("button", name="Trace the outline").click()
    # It is looked at then: whatever comes of the outline, the photo can be seen.
    page.locator(".working").wait_for()
    page.locator(".working").wait_for(state="detached", timeout=60_000)
    assert page.context.request.get(f"{root}/photos/001.jpg/shown").ok


def test_two_screens_on_one_job(
    opened: Callable[..., Any], served: Served, copied: Callable[..., str]
) -> None:
    root = copied("two-screens")
    phone = opened(PHONE)
    phone.goto(f"{root}/piece")
    desk = opened(DESK)
    desk.goto(f"{root}/piece")
    desk.get_by_label("Length").fill("105")
    desk.get_by_label("Length").blur()
    # The other screen follows without being asked.
    expect(phone.get_by_label("Length")).to_have_value("105")
    deaf = opened(DESK)
    deaf.route("**/events", lambda route: route.abort())
    deaf.goto(f"{root}/piece")
    with phone.expect_response(lambda answer: answer.request.method == "PATCH"):
        phone.get_by_label("Width").fill("70")
        phone.get_by_label("Width").blur()
    # It looked at an older state; another place is no conflict, and both are kept.
    deaf.get_by_label("Clearance").fill("0.4")
    deaf.get_by_label("Clearance").blur()
    deaf.get_by_text("Saved", exact=True).wait_for()
    text = (served.folder / "two-screens/job.toml").read_text("utf-8")
    assert "width = 70" in text
    assert "clearance = 0.4" in text
    with phone.expect_response(lambda answer: answer.request.method == "PATCH"):
        phone.get_by_label("Thickness").fill("22")
        phone.get_by_label("Thickness").blur()
    deaf.get_by_label("Thickness").fill("19")
    deaf.get_by_label("Thickness").blur()
    deaf.get_by_text("changed in another window").wait_for()
    deaf.get_by_role("button", name="Here: 19").click()
    deaf.get_by_text("changed in another window").wait_for(state="hidden")
    assert "thickness = 19" in (served.folder / "two-screens/job.toml").read_text("utf-8")


def test_without_the_server_the_table_stays_and_ticks_wait(
    opened: Callable[..., Any], tmp_path: Path, copied: Callable[..., str]
) -> None:
    server = serve(tmp_path)
    port = urlsplit(server.door).port
    assert port is not None
    try:
        page = opened(door=server.door)
        root = copied("no-server", server)
        page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
        page.goto(f"{root}/cut")
        page.wait_for_selector("table.stations")
    finally:
        server.stop()
    page.reload()
    rows = page.locator("table.stations tbody tr")
    assert rows.count() >= 4
    page.get_by_text("No connection").wait_for()
    rows.nth(2).get_by_role("checkbox").check()
    page.get_by_text("not sent yet").wait_for()
    page.reload()
    assert rows.nth(2).get_by_role("checkbox").is_checked()
    server = serve(tmp_path, port)
    try:
        page.goto(server.door)
        with page.expect_response("**/ticks") as answer:
            page.goto(f"{root}/cut")
        assert answer.value.ok
        ticks = json.loads((tmp_path / "no-server/.page/ticks.json").read_text("utf-8"))
        assert len(ticks["breast infill"]["top"]) == 1
    finally:
        server.stop()


def test_what_is_typed_wrongly_is_said_beside_it(
    opened: Callable[..., Any], served: Served
) -> None:
    page = opened()
    drive.begin(page, "typing")
    drive.bars(page, "250", "150")
    said = page.locator("#bars-said")
    said.wait_for()
    assert "150" in said.inner_text()
    assert page.get_by_label("Bar along the foot").get_attribute("aria-invalid") == "true"
    drive.bars(page, "149,6", "abc")
    page.get_by_text("'abc' is not a length").wait_for()
    for label, wrong in (("Bar along the foot", None), ("Bar up the side", "true")):
        assert page.get_by_label(label).get_attribute("aria-invalid") == wrong
    drive.bars(page, "149,6", "150")
    page.get_by_text("Readings kept").wait_for()
    text = (served.folder / "typing/printer-1.toml").read_text("utf-8")
    assert "x_bar = 149.6" in text


@pytest.mark.parametrize("file", ["../x.txt", "notes.txt"])
def test_what_is_no_photo_is_refused_beside_it(
    opened: Callable[..., Any], tmp_path: Path, file: str
) -> None:
    path = tmp_path / Path(file).name
    path.write_text("no photo", "utf-8")
    page = opened()
    root = drive.begin(page, "no photo")
    page.goto(f"{root}/photos")
    page.locator("[data-photo]").nth(1).set_input_files(path)
    page.get_by_text("This file is not a photo").wait_for()
    page.get_by_role("button", name="Leave it").click()
    assert page.get_by_text("This file is not a photo").count() == 0


def test_a_height_that_is_none_is_said_beside_it(opened: Callable[..., Any]) -> None:
    """The photo waits until it is put right, and goes then."""
    page = opened()
    root = drive.begin(page, "high")
    page.goto(f"{root}/photos")
    height = page.get_by_label("Height above the sheet")
    height.fill("five")
    page.locator("[data-photo]").nth(1).set_input_files(drive.DEMO / "skirting.jpg")
    page.get_by_text("Skirting.jpg was not sent").wait_for()
    assert height.get_attribute("aria-invalid") == "true"
    assert "'five' is not a length" in page.locator("#height-said").inner_text()
    height.fill("5")
    page.get_by_role("button", name="Send it again").click()
    page.wait_for_url("**outline=wall*")


def test_several_photos_make_one_new_outline(opened: Callable[..., Any], served: Served) -> None:
    page = opened()
    root = drive.begin(page, "several")
    page.goto(f"{root}/photos")
    page.get_by_label("What part of the building is it?").fill("breast")
    both = [drive.DEMO / "breast.jpg", drive.DEMO / "skirting.jpg"]
    page.locator("[data-photo]").nth(1).set_input_files(both)
    page.get_by_role("heading", name="2 photos of the breast").wait_for()
    page.get_by_role("link", name="Another").click()
    page.wait_for_url("**outline=new")  # with its scripts
    page.get_by_label("What part of the building is it?").fill("breast")
    page.locator("[data-photo]").first.set_input_files(both[0])
    page.get_by_text("There is one of that name").wait_for()
    text = (served.folder / "several/job.toml").read_text("utf-8")
    assert "001.jpg" in text
    assert "002.jpg" in text


def test_a_photo_that_was_lost_on_the_way_goes_again(
    opened: Callable[..., Any], served: Served
) -> None:
    page = opened()
    root = drive.begin(page, "no network for a while")
    lost: list[str] = []

    def once(route: Any) -> None:
        lost.append(route.request.url)
        route.abort("internetdisconnected") if len(lost) == 1 else route.continue_()

    page.route("**/photos?name=*", once)
    page.goto(f"{root}/photos")
    page.locator("#of-line").check(force=True)
    page.wait_for_url("**of=line*")
    page.get_by_label("What part of the building is it?").fill("breast")
    page.locator("[data-photo]").last.set_input_files(
        [drive.DEMO / "breast.jpg", drive.DEMO / "stone.jpg"]
    )
    page.get_by_text("doesn't answer (breast.jpg)").wait_for()
    asked: list[str] = []
    page.once("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.get_by_role("link", name="Piece").click()
    page.get_by_role("button", name="Send it again").click()
    page.wait_for_url("**outline=breast#taken")
    assert asked == ["beforeunload"]  # it would have been lost
    expect(page.locator(".photo")).to_have_count(2, timeout=SLOWEST_MS)
    toml = tomllib.loads((served.folder / "no-network-for-a-while/job.toml").read_text("utf-8"))
    assert toml["outline"]["breast"]["photo"] == ["photos/001.jpg", "photos/002.jpg"]


def test_photos_belong_to_the_outline_that_is_shown(
    opened: Callable[..., Any], served: Served, copied: Callable[..., str]
) -> None:
    page = opened()
    root = copied("one-more-photo")
    page.goto(f"{root}/cut")
    page.get_by_role("link", name="Photos").click()
    page.locator("[data-photo]").last.set_input_files(drive.DEMO / "stone.jpg")
    expect(page.locator(".photo")).to_have_count(2)
    toml = tomllib.loads((served.folder / "one-more-photo/job.toml").read_text("utf-8"))
    assert {name: len(each["photo"]) for name, each in toml["outline"].items()} == {"breast": 2}
    for left in (1, 0):
        page.get_by_role("button", name="Take away").first.click()
        expect(page.locator(".photo")).to_have_count(left)
    # The outline went with its last photo: the next one is of a new one.
    page.get_by_label("What part of the building is it?").wait_for()
