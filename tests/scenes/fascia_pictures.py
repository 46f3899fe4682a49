"""The pictures of docs/joining.md: `python -m tests.scenes.fascia_pictures` writes them.

The joined outline with its U, and both ends of the template that follows it, as the PDF has them.
U along the outline, and what most of it is made of, is printed.
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image, ImageDraw, ImageFont

from scribe.geom.polyline import stations
from scribe.job_file import read_job
from scribe.outline import Outline
from scribe.recipes.make import make_job
from scribe.recipes.outlines import captured_all
from tests.scenes.fascia import FOLDER

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
WIDE, HIGH, MARGIN = 1400, 260, 70  # px
LEAST, MOST = 0.01, 10.0  # mm, of U as it is drawn
UNDER_GAUGE = 135.0  # mm of wall and skirting
_SHEET = re.compile(r"fascia\s+\d+/\d+")  # what stands at the foot of a template's sheet
PARTS = {"ceiling": "#b04a2f", "wall": "#1f5f8b", "skirting": "#4a7a2c"}


def main() -> None:
    """Make the job in a folder of its own, and draw what came out."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    job = read_job(FOLDER / "job.toml")
    found = captured_all(job.outlines, ["side"], lambda _: None)
    sys.stdout.write("\n".join(figures(found["side"].raw)) + "\n")
    outline_picture(found["side"].raw).save(PICTURES / "fascia-outline.png", optimize=True)
    with tempfile.TemporaryDirectory() as folder:
        make_job(FOLDER / "job.toml", Path(folder))
        template_picture(Path(folder) / "fascia.pdf").save(
            PICTURES / "fascia-template.png", optimize=True
        )


def figures(outline: Outline) -> list[str]:
    """U (k = 2) of each part's points, and what the largest is made of, where it is large."""
    lines = []
    for name, part in _parts(outline).items():
        at = np.flatnonzero(part)
        worst = int(at[np.argmax(outline.U[at])])
        told = {entry: 2.0 * float(u[worst]) for entry, u in outline.budget.items()}
        made_of = ", ".join(f"{entry} {U:.1f}" for entry, U in told.items() if U > 0.5)
        lines.append(
            f"{name}: U {np.median(outline.U[at]):.2f} mm (median), {outline.U[at[-1]]:.2f} mm at"
            f" its end, {outline.U[worst]:.1f} mm at worst{f' ({made_of})' if made_of else ''}"
        )
    return lines


def outline_picture(outline: Outline) -> Image.Image:
    """Above, the outline, building above; below, U of its points on a logarithmic scale."""
    parts = _parts(outline)
    image = Image.new("RGB", (WIDE, 2 * HIGH), "white")
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(22)
    x0, y0 = outline.points.min(axis=0)
    x1, y1 = outline.points.max(axis=0)
    scale = (WIDE - 2 * MARGIN) / (x1 - x0)
    way = stations(outline.points)
    along = MARGIN + way / way[-1] * (WIDE - 2 * MARGIN)
    rise = HIGH - 2 * MARGIN
    chart = 2 * HIGH - MARGIN - np.log10(outline.U / LEAST) / np.log10(MOST / LEAST) * rise
    for U in (0.01, 0.1, 1.0, 10.0):
        y = 2 * HIGH - MARGIN - float(np.log10(U / LEAST) / np.log10(MOST / LEAST)) * rise
        draw.line([(MARGIN, y), (WIDE - MARGIN, y)], fill="#d5d5d5", width=1)
        draw.text((MARGIN - 8, y), f"{U:g}", "#555", font=font, anchor="rm")
    for name, part in parts.items():
        x = MARGIN + (outline.points[part, 0] - x0) * scale
        y = MARGIN + (y1 - outline.points[part, 1]) * (HIGH - 1.6 * MARGIN) / (y1 - y0)
        for line in ((x, y), (along[part], chart[part])):
            draw.line(list(zip(*(each.tolist() for each in line), strict=True)),
                      fill=PARTS[name], width=4, joint="curve")  # fmt: skip
        at = float(along[part].mean())
        draw.text((at, 2 * HIGH - 26), name, PARTS[name], font=font, anchor="mm")
    draw.text((MARGIN, HIGH + 26), "U (k = 2) along the outline, mm", "#555", font=font)
    return image


def _parts(outline: Outline) -> dict[str, np.ndarray]:
    """Which points come from where: the ceiling up to the sharpest turn of the first, the
    skirting from where the wall's foot is shared.
    """
    heading = np.unwrap(np.arctan2(*np.diff(outline.points, axis=0).T[::-1]))
    corner = int(np.argmax(np.abs(np.diff(heading))[:60])) + 1
    foot = int(np.argmax(stations(outline.points) > stations(outline.points)[-1] - UNDER_GAUGE))
    at = np.arange(len(outline))
    return {
        "ceiling": at <= corner,
        "wall": (at >= corner) & (at <= foot),
        "skirting": at >= foot,
    }


def template_picture(path: Path) -> Image.Image:
    """The first and the last sheet of the template, side by side."""
    with pypdfium2.PdfDocument(path) as document:
        numbered = [
            page for page in document if _SHEET.search(page.get_textpage().get_text_range())
        ]
        sheets = [page.render(scale=1.0).to_pil() for page in (numbered[0], numbered[-1])]
    wide = sum(sheet.width for sheet in sheets)
    image = Image.new("RGB", (wide, max(sheet.height for sheet in sheets)), "white")
    image.paste(sheets[0], (0, 0))
    image.paste(sheets[1], (sheets[0].width, 0))
    return image.convert("L")


if __name__ == "__main__":
    main()
