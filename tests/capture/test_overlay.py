"""The words below an overlay: all of them can be read, on narrow pictures too."""

from __future__ import annotations

import pytest
from PIL.ImageFont import FreeTypeFont

from scribe.capture.overlay import fitted_font

WORDS = "skirting.jpg   gauge   U of the shape (k = 2) 0.04 mm, at worst 0.79 mm"


@pytest.mark.parametrize("width", [300.0, 500.0, 900.0, 1190.0])
def test_a_caption_is_as_large_as_its_room_lets_it_be(width: float) -> None:
    font = fitted_font(WORDS, width, 32.0)
    assert isinstance(font, FreeTypeFont)
    assert font.getlength(WORDS) <= width
    assert font.size == 32.0 or font.getlength(WORDS) >= 0.85 * width
