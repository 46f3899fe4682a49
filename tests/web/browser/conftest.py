"""The page in a real browser: Debian's chromium, driven by Playwright, against `scribe serve`.

What a browser shows when a test fails is kept in the folder that SCRIBE_SCREENS names (else
scribe-screens in the temporary folder).
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from tests.web.browser import drive

SCREENS = Path(os.environ.get("SCRIBE_SCREENS") or Path(tempfile.gettempdir(), "scribe-screens"))
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESK = {"viewport": {"width": 1280, "height": 800}}
SLOWEST_MS = 20_000
# With every window chromium would make ready what drops out of its address bar: pages of its own
# that cost as much as ours. The others are Playwright's: of two lists the last one counts.
WITHOUT = [
    "WebUIOmniboxPopup", "WebUIOmniboxAimPopup",
    "AvoidUnnecessaryBeforeUnloadCheckSync", "DestroyProfileOnBrowserClose", "HttpsUpgrades",
    "HttpsFirstBalancedModeAutoEnable", "LensOverlay", "MediaRouter", "PaintHolding",
    "ThirdPartyStoragePartitioning", "AvoidCorsURLLoaderRestartOnRedirect", "OptimizationHints",
    "NetworkTimeServiceQuerying", "AimEnabled", "PreconnectToSearch",
]  # fmt: skip


@dataclass
class Served:
    """A running page. door: its address with the secret. folder: of the jobs."""

    process: subprocess.Popen[str]
    door: str
    folder: Path

    @property
    def root(self) -> str:
        parts = urlsplit(self.door)
        return f"{parts.scheme}://{parts.netloc}"

    def stop(self) -> None:
        self.process.terminate()
        self.process.communicate(timeout=10)


def serve(folder: Path, port: int = 0) -> Served:
    """Start `scribe serve` and read where it listens."""
    command = [sys.executable, "-m", "scribe", "serve", "--folder", str(folder), "--no-browser"]
    process = subprocess.Popen(
        [*command, "--port", str(port)], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL,
        text=True,
    )  # fmt: skip
    assert process.stderr is not None
    for line in process.stderr:
        if found := re.search(r"http://127\.0\.0\.1\S+", line):
            return Served(process, found[0], folder)
    raise AssertionError("scribe serve said no address")


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    page = serve(tmp_path_factory.mktemp("jobs"))
    yield page
    page.stop()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("there is no chromium: .ci/run installs it")
        pytest.skip("there is no chromium on this machine (apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        options = ["--no-sandbox", f"--disable-features={','.join(WITHOUT)}"]
        browser = playwright.chromium.launch(executable_path=program, args=options)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def cottage(chromium: Any, served: Served) -> Path:
    """A job that has been through all places, as a folder."""
    context = chromium.new_context(**PHONE)
    page = context.new_page()
    page.goto(served.door)
    root = drive.begin(page, "the long wall behind the stairs, panels up to the sloping ceiling")
    drive.breast(page, root)
    drive.infill(page, root)
    drive.made(page, root)
    context.close()
    return served.folder / root.rsplit("/", 1)[1]


@pytest.fixture
def copied(cottage: Path, served: Served) -> Callable[..., str]:
    """A copy of that job under another id, in the page's folder or another; its address."""

    def copy(ident: str, page: Served = served) -> str:
        shutil.copytree(cottage, page.folder / ident)
        return f"{page.root}/jobs/{ident}"

    return copy


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    report = yield
    if getattr(report, "failed", False) and report.when == "call":
        for number, page in enumerate(item.stash.get(OPENED, [])):
            SCREENS.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=SCREENS / f"{item.name}-{number}.png", full_page=True)
    return report


OPENED: pytest.StashKey[list[Any]] = pytest.StashKey()
Opener = Callable[..., Any]


@pytest.fixture
def opened(chromium: Any, served: Served, request: pytest.FixtureRequest) -> Iterator[Opener]:
    """What opens pages, on a PHONE if nothing is said. A fault in a script fails the test.

    A module's BROWSER_OPTIONS hold for all that it opens.
    """
    options = getattr(request.module, "BROWSER_OPTIONS", {})
    contexts, faults = [], []
    pages: list[Any] = []
    request.node.stash[OPENED] = pages

    def open_page(screen: dict[str, Any] = PHONE, *, door: str | None = None, **more: Any) -> Any:
        context = chromium.new_context(**screen, reduced_motion="reduce", **options, **more)
        context.set_default_timeout(SLOWEST_MS)
        page = context.new_page()
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.goto(served.door if door is None else door)
        contexts.append(context)
        pages.append(page)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert faults == []
