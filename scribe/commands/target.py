"""`scribe target`: print the sheet that goes into the photo."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from scribe.commands.options import FILE, FORCE


@click.command(name="target")
@click.option(
    "--paper",
    type=click.Choice(["A4", "A3", "Letter"]),
    default="A4",
    show_default=True,
    help="The paper in the printer.",
)
@click.option(
    "--form",
    type=click.Choice(["window", "strip"]),
    default="window",
    show_default=True,
    help="window: marks round a clear window, for a gauge, a board or a cut edge laid on it. "
    "strip: four strips to a page, to cut apart and tape along a long board.",
)
@click.option(
    "--copies",
    type=click.IntRange(min=1),
    default=1,
    show_default=True,
    help="Pages to print; every page carries marks of its own, so never photocopy one.",
)
@click.option(
    "-o",
    "--out",
    type=FILE,
    default=Path("target.pdf"),
    show_default=True,
    help="The PDF to write.",
)
@FORCE
def command(
    paper: str, form: Literal["window", "strip"], copies: int, out: Path, force: bool
) -> None:
    """Print a target: the sheet of marks that goes into every photo.

    Print it at 100 % (not "fit to page"), lay a steel rule on its check bars, and tell
    `scribe trace` with --bars what they read.
    """
    from scribe.recipes.target import make_target

    names = make_target(paper, form, copies, out, force=force)
    span = names[0] if len(names) == 1 else f"{names[0]} to {names[-1].split()[-1]}"
    click.echo(f"{out}: {span}")
    click.echo(f'Print at 100 % (turn "fit to page" off), on a printer loaded with {paper}.')
    bars = (
        "both check bars, along the foot and up the left side"
        if form == "window"
        else "every strip's check bar"
    )
    click.echo(f"Then lay a steel rule on {bars}: 0 to 150 must be 150.0 mm.")
    if form == "window":
        click.echo("Lay the sheet flat with its arrow towards the wall.")
    else:
        click.echo("Cut along the lines and tape the strips flat along the board.")
