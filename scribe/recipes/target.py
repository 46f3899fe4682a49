"""`scribe target`: lay the marks out, look their modules up, draw the pages."""

from __future__ import annotations

from pathlib import Path

from scribe.capture.sheet.marker_bits import marker_bits
from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_bytes
from scribe.output.target_sheet import target_pdf
from scribe.target import DICTIONARY, Form, page


def make_target(paper: str, form: Form, copies: int, out: Path, *, force: bool) -> list[str]:
    """Write the pages of a print to out and return the names of its sheets or strips."""
    if copies < 1:
        raise ScribeError(
            "target-number",
            what="there is nothing to print",
            where=f"{copies} copies",
            do="ask for one copy or more",
        )
    pages = [page(paper, form, copy) for copy in range(1, copies + 1)]
    refuse_existing([out], force=force)
    ready_folder(out.parent)
    targets = [target for sheet in pages for target, _ in sheet.targets]
    ids = {int(number) for target in targets for number in target.ids}
    write_bytes(out, target_pdf(pages, marker_bits(DICTIONARY, ids)))
    return [target.name for target in targets]
