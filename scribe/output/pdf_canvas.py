"""A canvas for a PDF that is the same bytes for the same content."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


def pdf_canvas(stream: BytesIO) -> Canvas:
    """An empty canvas, of which `save` writes to the stream."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # as text a file is larger by a quarter, and takes longer to write
    return Canvas(stream, invariant=1, pageCompression=1)
