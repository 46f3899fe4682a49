"""`scribe printer`: a print's scale, by its check bars or by a bank card -> a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from scribe.errors import ScribeError
from scribe.print_scale import BAR_MM, PrintScale, from_bars, write_printer

Progress = Callable[[str], None]


def keep_printer(
    bars: tuple[float, float] | None,
    card: Path | None,
    out: Path,
    *,
    force: bool,
    progress: Progress = lambda _: None,
) -> tuple[Path, list[str]]:
    """Write the file; returns its path and what it means."""
    if (bars is None) == (card is None):
        raise ScribeError(
            "printer-source",
            what="a printer's scale comes from its bars or from a photo of a card",
            where="printer",
            do="give either {bars} or {card}",
        )
    if card is not None:
        progress(f"measuring the card in {card.name}")
        scale = by_card(card)
        bars = scale.x * BAR_MM, scale.y * BAR_MM
    else:
        assert bars is not None
        scale = from_bars(*bars)
    path = write_printer(out, bars, scale.u, force=force)
    lines = [
        f"{way}: {100 * (factor - 1):+.2f} %, U {200 * u:.2f} %:"
        f" {200 * (factor - 1):+.2f} mm on 200 mm"
        for way, factor, u in (
            ("along the sheet's foot", scale.x, scale.u_x),
            ("up its side", scale.y, scale.u_y),
        )
    ]
    return path, lines


def by_card(path: Path) -> PrintScale:
    """The print scale of the sheet in a photo, by a bank card in its window."""
    from scribe.capture.photo_file import read_photo
    from scribe.capture.pose.orient import orient
    from scribe.recipes.scale import card_in

    return card_in(orient(read_photo(path))).scale
