"""`scribe printer`: what the check bars measured -> a file for later photos."""

from __future__ import annotations

from pathlib import Path

from scribe.print_scale import from_bars, write_printer


def keep_printer(bars: tuple[float, float], out: Path, *, force: bool) -> tuple[Path, list[str]]:
    """Write the file; returns its path and what it means."""
    path = write_printer(out, bars, force=force)
    scale = from_bars(*bars)
    lines = [
        f"along {axis}: {100 * (factor - 1):+.2f} %, U {200 * u:.2f} %:"
        f" {200 * (factor - 1):+.2f} mm on 200 mm"
        for axis, factor, u in (("x", scale.x, scale.u_x), ("y", scale.y, scale.u_y))
    ]
    return path, lines
