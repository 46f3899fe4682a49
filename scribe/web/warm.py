"""Loaded once by the server of the worker processes, so that no worker waits for it."""

from __future__ import annotations


def _load() -> None:
    from scribe.recipes import check, make, page, sight, trace

    del check, make, page, sight, trace


_load()
