"""`scribe make`: from a job file to templates, tables and a report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scribe.commands.options import AS_JSON, FILE, FORCE
from scribe.quantity import format_mm, format_u

if TYPE_CHECKING:
    from scribe.recipes.made import EdgeFigures, MakeResult


@click.command(name="make")
@click.argument("job", metavar="JOB.toml", type=FILE)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for the templates, the tables and the report.",
)
@click.option("--dxf", is_flag=True, help="Write a DXF of each piece as well, for a machine.")
@AS_JSON
@FORCE
def command(job: Path, out: Path, dxf: bool, as_json: bool, force: bool) -> None:
    """Make a job's pieces: template, removal table, report.

    The job file names the outlines (photos, or files traced before) and the pieces: each a
    blank with the edges that meet the building. For each piece there is a PDF to print at 100 %,
    one mirrored for marking on the back, a page for marking without a template, an SVG, and a
    CSV of how much comes off where.
    """
    from scribe.recipes.made import result_json
    from scribe.recipes.make import make_job

    made = make_job(
        job, out, dxf=dxf, force=force, progress=lambda words: click.echo(words, err=True)
    )
    if as_json:
        click.echo(result_json(made))
        return
    _tell(made)


def _tell(made: MakeResult) -> None:
    for piece in made.pieces:
        click.echo(f"{piece.name}")
        for edge in piece.edges:
            click.echo(f"  {_edge_words(edge)}")
        for note in piece.notes:
            click.echo(f"  Note: {note}")
        click.echo(f"  template: {piece.sheets.words}")
        if piece.sheets.assembly is not None:
            click.echo(f"  {piece.sheets.assembly.words}")
        click.echo(f"  files: {', '.join(piece.files)}")
    for outline, sentences in made.advice.items():
        for sentence in sentences:
            click.echo(f"{outline}: {sentence}")
    click.echo(f"Look at {made.folder / 'report.html'} first. Then print a PDF at 100 %,")
    click.echo("and lay a steel rule on every sheet's check bar before anything is cut.")


def _edge_words(edge: EdgeFigures) -> str:
    """One cut in one sentence, with U (k = 2)."""
    most, least = edge.most, edge.least
    words = (
        f"{edge.edge} edge to {edge.outline}, stations from the {edge.end} end: take off"
        f" {format_u(most.remove, most.U, down=True)} at most"
        f" (station {format_mm(most.station, 0)}),"
        f" {format_u(least.remove, least.U, down=True)} at least"
        f" (station {format_mm(least.station, 0)});"
        f" {format_mm(edge.narrowest)} mm wide at the narrowest"
    )
    return words + ("; part of it was not measured" if edge.bridged else "")
