"""For all tests: the folder of real photographs, a sample of the slow ones, who runs what."""

from __future__ import annotations

import gc
import os
import random
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# Before numpy is imported here or by a worker: every core has a worker of its own, and the threads
# of a linear algebra library beside it would only wait for each other, in scenes' small products
# above all.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A test that fails on a busy machine tells nothing of the code.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

CHECKOUT = Path(os.environ.get("SCRIBE_CHECKOUT") or Path(__file__).parents[1]).resolve()
PHOTOS = CHECKOUT.parent / "shared/photos"
BROWSER = "tests/web/browser/"


@pytest.fixture(scope="session")
def photos() -> Path:
    """The folder of real photographs beside the checkout; without it the test is skipped."""
    if not PHOTOS.is_dir():
        pytest.skip("the folder of real photographs isn't beside this checkout")
    return PHOTOS


def pytest_addoption(parser: pytest.Parser) -> None:
    """--sample N runs N of the tests that were selected, the same ones for the same --seed."""
    parser.addoption("--sample", type=int, help="run only so many of the selected tests")
    parser.addoption("--seed", type=int, default=0, help="which sample to take")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Nothing that is collected becomes garbage: don't look for any, then or later."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """File by file in the order of collection; all that needs a browser as if it were one file."""
    if config.getoption("dist") != "loadfile":
        return None
    from xdist.scheduler import LoadFileScheduling

    class ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return BROWSER if nodeid.startswith(BROWSER) else super()._split_scope(nodeid)

    config.option.loadscopereorder = False  # by number of tests: one of the longest came last
    return ByFile(config, log)


@pytest.hookimpl(trylast=True)  # after -m and -k have chosen
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave a seeded sample of what was selected, and let the browser begin: it waits much."""
    items.sort(key=lambda each: not each.nodeid.startswith(BROWSER))
    size = config.getoption("--sample")
    if size is None or size >= len(items):
        return
    chosen = set(random.Random(config.getoption("--seed")).sample(range(len(items)), size))
    config.hook.pytest_deselected(items=[e for i, e in enumerate(items) if i not in chosen])
    items[:] = [each for i, each in enumerate(items) if i in chosen]
