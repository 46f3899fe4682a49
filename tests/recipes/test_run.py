"""A run of strips as a whole: what is refused before anything is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.job import PhotoSource
from scribe.recipes.run import trace_strips


def test_a_gauge_on_strips_is_refused() -> None:
    source = PhotoSource((Path("a.jpg"), Path("b.jpg")), "gauge")
    with pytest.raises(ScribeError, match="gauge") as refused:
        trace_strips(source, lambda _: None)
    assert refused.value.kind == "run-of-gauge"
