"""The same work on many items over the cores, each worker with one item at a time.

Memory stays that of as many items as there are workers, however many items there are. The
work and its items travel between processes: functions of a module, plain values.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")

_WORTH = 3  # items from which starting other processes pays


def each(
    work: Callable[[Item], Result],
    items: Sequence[Item],
    done: Callable[[int, int], None] = lambda _finished, _of: None,
    *,
    workers: int | None = None,
) -> list[Result]:
    """work(item) of every item, in their order; done(how many, of how many) as they finish."""
    count = min(workers or _cores(), len(items))
    results: list[Result] = []
    if count < 2 or len(items) < _WORTH:
        for item in items:
            results.append(work(item))
            done(len(results), len(items))
        return results
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # A fresh interpreter for each worker: a copy of one that has threads may lock up.
    with ProcessPoolExecutor(count, get_context("spawn"), initializer=_alone) as pool:
        for result in pool.map(work, items):
            results.append(result)
            done(len(results), len(items))
    return results


def _cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _alone() -> None:
    """One thread for each worker: the workers share the cores already."""
    import cv2

    cv2.setNumThreads(1)
