"""The pictures of docs/examples.md: `python -m tests.examples.pictures` writes them anew.

Each job in `fixtures` is made as a user would; its cover and one of its sheets, as they come from
the printer, are set side by side.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from scribe.output.check.deviation_map import deviation_map
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.make import make_job
from tests.examples.walls import FIXTURES, GAPS

DOCS = Path(__file__).parents[2] / "docs/pictures"
# The job, and which sheet of its first piece shows best what it is about.
SHOWN = {"alcove-shelf": 1, "pipe-boxing": 1, "plinth": 4, "sloping-top": 3}
_DPI = 48.0


def main() -> None:
    """Write one picture for each job."""
    for job, sheet in SHOWN.items():
        with tempfile.TemporaryDirectory() as out:
            make_job(FIXTURES / job / "job.toml", Path(out))
            pdf = next(p for p in Path(out).glob("*.pdf") if "-" not in p.name)
            picture(pdf, sheet, DOCS / f"example-{job}.webp")
    (DOCS / "check.svg").write_text(check_drawing() + "\n", "utf-8")


def check_drawing() -> str:
    """The plinth's foot beside its planned line, as `scribe check` draws it."""
    source = CheckSource(FIXTURES / "plinth/job.toml", "plinth", (FIXTURES / GAPS,))
    return deviation_map(check(source).check)


def picture(pdf: Path, sheet: int, to: Path) -> None:
    """The first page and that sheet, side by side; sheets are numbered 1/N to N/N at their feet."""
    import pypdfium2
    from PIL import Image

    document = pypdfium2.PdfDocument(pdf)
    words = document[len(document) - 1].get_textpage().get_text_bounded()
    [count] = {int(each) for each in re.findall(r"\b\d+/(\d+)\b", words)}
    page = len(document) - count + sheet - 1
    pages = [document[k].render(scale=_DPI / 72.0).to_pil() for k in (0, page)]
    document.close()
    gap = 12
    wide = sum(each.width for each in pages) + 3 * gap
    sheet = Image.new("RGB", (wide, pages[0].height + 2 * gap), (190, 184, 172))
    left = gap
    for each in pages:
        sheet.paste(each, (left, gap))
        left += each.width + gap
    sheet.save(to, quality=55, method=6)


if __name__ == "__main__":
    main()
