"""A draft of pages: what is asked of a canvas, taken down for a canvas that comes later.

How many pages something takes is known once it is laid out; of several layouts one is drawn.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


class Draft:
    """Stands in for a canvas, and for the paths that a canvas begins."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, tuple[Any, ...], dict[str, Any]]] = []

    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *given, **more: self.asked.append((name, given, more))

    def beginPath(self) -> Draft:
        """A path to be drawn."""
        return Draft()

    def stringWidth(self, words: str, font: str, size: float) -> float:
        """How wide words are."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return float(stringWidth(words, font, size))

    @property
    def pages(self) -> int:
        """How many pages it takes."""
        return 1 + sum(name == "showPage" for name, _, _ in self.asked)

    def onto(self, canvas: Any) -> Any:
        """Draw it on a canvas, or on a path of it; returns that."""
        for name, given, more in self.asked:
            real = (each.onto(canvas.beginPath()) if isinstance(each, Draft) else each
                    for each in given)  # fmt: skip
            getattr(canvas, name)(*real, **more)
        return canvas
