"""`scribe demo`: make a small whole job from photos in the package."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="demo")
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("scribe-demo"),
    show_default=True,
    help="The folder to write to.",
)
@click.option("--force", is_flag=True, help="Write into the folder whatever it holds.")
def command(out: Path, force: bool) -> None:
    """Make a small whole job, from photos to templates.

    The job: shelving beside a chimney breast in a harbour cottage. Its photos and job file are
    copied into the folder and everything is made in made/ inside it. Run it again and it writes
    over its own files; it refuses a folder that holds anything else, or a file that was changed
    since, unless --force is given.
    """
    from scribe.recipes.demo import MADE, make_demo

    made = make_demo(out, force=force, progress=lambda text: click.echo(text, err=True))
    click.echo(f"{out}/ holds the job: job.toml and its photos, to copy and change.")
    click.echo(f"{out}/{MADE}/ holds what was made of them:")
    for path in made:
        click.echo(f"  {path.relative_to(out / MADE).as_posix()}")
    click.echo("Look at report.html first: the outlines over the photos, and what U contains.")
    click.echo("Then print a piece's .pdf at 100 %,")
    click.echo("and lay a steel rule on every sheet's check bar.")
    click.echo("The -remove.csv tables say how much comes off at every station.")
