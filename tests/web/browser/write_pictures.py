"""python -m tests.web.browser.write_pictures: the pictures of docs/first-strip.md and runs.md.

Walks the story on a phone (390 x 844) and on a desktop (1280 x 800), and keeps with them what
the screens said. No picture is larger than 60 kB.
"""

from __future__ import annotations

import io
import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

FOLDER = Path(__file__).parents[3] / "docs/pictures"
TEXTS = FOLDER / "first-strip.json"
LARGEST = 60_000  # bytes
_DESK_STOPS = ("line", "piece")


def kept(picture: Image.Image, path: Path) -> None:
    """As WebP, as fine as fits."""
    for quality in (84, 76, 68, 58, 46):
        stream = io.BytesIO()
        picture.convert("RGB").save(stream, "WEBP", quality=quality, method=6)
        if len(stream.getvalue()) <= LARGEST:
            break
    path.write_bytes(stream.getvalue())


def shot(page: Any) -> Image.Image:
    """What the screen shows."""
    return Image.open(io.BytesIO(page.screenshot()))


def page_of(pdf: bytes) -> Image.Image:
    """The template's page with the piece on it, as it comes out of the printer."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    return document[len(document) - 1].render(scale=0.9).to_pil()


def main() -> None:
    """Write all of them."""
    from playwright.sync_api import sync_playwright

    from tests.web.browser import drive, story
    from tests.web.browser.conftest import DESK, PHONE, serve

    FOLDER.mkdir(exist_ok=True)
    texts: dict[str, list[str]] = {}
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = serve(Path(folder))
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        try:
            phone = browser.new_context(**PHONE, device_scale_factor=1.5).new_page()
            phone.goto(server.door)
            for stop in story.stops(phone):
                texts[stop] = story.said(phone)
                phone.wait_for_timeout(300)
                kept(shot(phone), FOLDER / f"{stop}.webp")
            kept(page_of(story.template(phone)), FOLDER / "template.webp")
            root = drive.begin(phone, "the long wall")
            drive.run(phone, root)
            phone.get_by_role("link", name="On to the outline").click()
            drive.show_line(phone, Path(folder, root.rsplit("/", 1)[1]))
            phone.wait_for_selector(f"{drive.LINE}:visible")
            phone.get_by_label("The photo before").click()  # of three: the second
            texts["run"] = story.said(phone)
            phone.wait_for_timeout(300)
            kept(shot(phone), FOLDER / "run.webp")
            desk = browser.new_context(**DESK).new_page()
            desk.goto(server.door)
            for stop in story.stops(desk):
                if stop in _DESK_STOPS:
                    desk.wait_for_timeout(300)
                    kept(shot(desk), FOLDER / f"{stop}-desk.webp")
        finally:
            browser.close()
            server.stop()
    TEXTS.write_text(json.dumps(texts, indent=1, ensure_ascii=False) + "\n", "utf-8")
    sys.stdout.write(f"{len(list(FOLDER.glob('*.webp')))} pictures in {FOLDER}\n")


if __name__ == "__main__":
    main()
