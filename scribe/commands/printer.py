"""`scribe printer`: keep a printer's scale, measured once on a target's check bars."""

from __future__ import annotations

from pathlib import Path

import click

from scribe.commands.options import FILE, FORCE
from scribe.commands.types import BARS


@click.command(name="printer")
@click.option(
    "--bars",
    type=BARS,
    help="What a steel rule says of the two check bars, in mm: along the sheet's foot, and up its "
    "side, such as 149.6,150.2.",
)
@click.option(
    "--card",
    type=FILE,
    help="A photo of a target with a bank card lying in its window, instead of the bars.",
)
@click.option(
    "-o",
    "--out",
    type=FILE,
    required=True,
    help="File to write, such as printer.toml.",
)
@FORCE
def command(bars: tuple[float, float] | None, card: Path | None, out: Path, force: bool) -> None:
    """Keep the scale of a printer, to be given to trace with --printer.

    Print a target at 100 %, read both of its check bars from 0 to 150 with a steel rule, and
    write down what they measure. Or lay a bank card into the window, of another colour than the
    paper, and take a photo from above. Measure again when the paper or the settings change.
    """
    from scribe.recipes.printer import keep_printer

    path, lines = keep_printer(
        bars, card, out, force=force, progress=lambda words: click.echo(words, err=True)
    )
    for line in lines:
        click.echo(line)
    click.echo(f"Give --printer {path} to scribe trace.")
