"""`scribe read`: an outline from numbers taken by hand, or from a drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from scribe.commands.options import AS_JSON, FILE, FORCE, OUTLINE_FOLDER
from scribe.commands.types import LENGTH, POINT, SIGNED_LENGTH
from scribe.quantity import UNITS_MM


@click.command(name="read")
@click.argument("file", type=FILE)
@click.option(
    "--as",
    "form",
    type=click.Choice(["offsets", "feelers", "level", "tapes", "drawing"]),
    required=True,
    help="How it was taken: offsets from a straight edge, feeler gaps, a level walked along, tapes "
    "to two fixed points, or a drawing (DXF, SVG).",
)
@click.option(
    "--building",
    type=click.Choice(["above", "below", "left", "right", "inside"]),
    required=True,
    help="Where the building lies: a ceiling is above, a floor below, a wall left or right, a pipe "
    "inside its line. Readings don't tell, and a guess would mirror the piece.",
)
@click.option("--u95", type=LENGTH, help="U of one reading in mm; of a level, mm on a metre.")
@click.option("--base", type=LENGTH, help="Tapes: how far the fixed points A and B are apart.")
@click.option("--third", type=POINT, help="Tapes: where a third point C is, X,Y from A.")
@click.option(
    "--closing", type=SIGNED_LENGTH, help="Level: how much higher its end is, from elsewhere."
)
@click.option(
    "--line",
    type=click.Choice(["straight edge", "level", "laser"]),
    help="Offsets: what they were taken from.  [default: straight edge]",
)
@click.option(
    "--surface",
    type=click.Choice(["flat", "wavy", "rough"]),
    help="Readings: what it looks like between them: flat (boards, new plaster), wavy (old "
    "plaster) or rough (stone, brick).",
)
@click.option("--choose", help="Drawing: the layer (DXF) or id (SVG) of the line.")
@click.option(
    "--unit", type=click.Choice(list(UNITS_MM)), help="Drawing: its unit when it has none."
)
@OUTLINE_FOLDER
@AS_JSON
@FORCE
def command(
    file: Path, out: Path, unit: str | None, as_json: bool, force: bool, **options: Any
) -> None:
    """Read an outline from hand readings or a drawing.

    Readings are a CSV with a header in the trade's words: station and offset (or gap), step and
    slope, from A and from B. Units stand in the header or in a cell, mm without one. What lies
    between two readings is in the uncertainty.
    """
    from scribe.recipes.read import advice, read, read_json, result_lines, write_read
    from scribe.source import ReadSource

    source = ReadSource(file, unit=None if unit is None else UNITS_MM[unit], **options)
    outline = read(source)
    said = advice(source, outline)
    written = write_read(outline, out, force=force)
    if as_json:
        click.echo(read_json(outline, written, said))
        return
    for line in (*result_lines(outline), *said):
        click.echo(line)
    click.echo(f'Give file = "{written[1].name}" to a job file.')
