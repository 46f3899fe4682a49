"""Fixtures for all tests: the folder of real photographs, and a sample of the slow tests."""

from __future__ import annotations

import os
import random
from pathlib import Path

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


@pytest.hookimpl(trylast=True)  # after -m and -k have chosen
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave a seeded sample of what was selected."""
    size = config.getoption("--sample")
    if size is None or size >= len(items):
        return
    chosen = set(random.Random(config.getoption("--seed")).sample(range(len(items)), size))
    config.hook.pytest_deselected(items=[e for i, e in enumerate(items) if i not in chosen])
    items[:] = [each for i, each in enumerate(items) if i in chosen]
