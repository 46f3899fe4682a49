"""Refusals of the page: how one is shown as JSON, and which status it has."""

from __future__ import annotations

from pathlib import Path

from scribe.errors import ScribeError
from scribe.places import PAGE, told

_STATUS = {
    "page-no-job": 404,
    "page-no-work": 404,
    "page-no-sight": 404,
    "page-no-outline": 404,
    "page-no-photo-there": 404,
    "page-no-file": 404,
    "page-too-large": 413,
    "page-no-version": 428,
    "page-busy": 429,
}


def status_of(refusal: ScribeError) -> int:
    """422 where nothing else says more."""
    return _STATUS.get(refusal.kind, 422)


def error_json(refusal: ScribeError, folder: Path | None = None) -> dict[str, str]:
    """A refusal as the page shows it; files are named as seen from the jobs' folder."""
    where = refusal.where if folder is None else refusal.where.replace(f"{folder}/", "")
    here = told(ScribeError(refusal.kind, what=refusal.what, where=where, do=refusal.do), PAGE)
    parts = {"what": here.what, "where": here.where, "do": here.do}
    return {"kind": here.kind, **parts, "sentence": str(here)}


def malformed(where: str) -> ScribeError:
    """For what no page of ours sends."""
    return ScribeError(
        "page-malformed",
        what="the page sent something that makes no sense",
        where=where,
        do="load the page again, and tell us if it happens again",
    )
