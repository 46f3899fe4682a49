"""`scribe survey`: the readings of a room, solved together."""

from __future__ import annotations

from pathlib import Path

import click

from scribe.commands.options import AS_JSON, FILE, FORCE


@click.command(name="survey")
@click.argument("room", metavar="[ROOM.toml]", required=False, type=FILE)
@click.option("--form", is_flag=True, help="Write the readings form instead, a PDF to fill in.")
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    help="Folder for the report and what comes with it; with --form the PDF to write.",
)
@AS_JSON
@FORCE
def command(room: Path | None, form: bool, out: Path, as_json: bool, force: bool) -> None:
    """Solve a room from the readings taken in it.

    Widths, heights, depths, diagonals, leans and slopes are adjusted together; a reading that
    doesn't agree with the others is named. Angles, cut list and stiffness follow as the file
    asks for them. Print the form first: scribe survey --form -o form.pdf.
    """
    from scribe.recipes.survey import survey, survey_json, write_form, write_survey

    if form == (room is not None):
        raise click.UsageError("Give a ROOM.toml, or --form alone.")
    if room is None:
        click.echo(f"{write_form(out, force=force)}: print it, and write it into a room file.")
        return
    found = survey(room)
    written = write_survey(found, out, force=force)
    if as_json:
        click.echo(survey_json(found, written))
        return
    for line in found.lines():
        click.echo(line)
    click.echo(f"Look at {written[0]}.")
