"""`scribe serve`: the same work through a page, for the phone at the wall."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="serve")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=lambda: Path.home() / "scribe-jobs",
    show_default="scribe-jobs in your home folder",
    help="Folder of the jobs; each is a folder in it that the other commands read too.",
)
@click.option("--port", type=click.IntRange(0, 65535), default=8137, show_default=True,
              help="Where to listen; 0 takes any free port.")  # fmt: skip
@click.option(
    "--lan",
    is_flag=True,
    help="Let a phone in the same network in, with the square code. Plain http: whoever listens "
    "in that network can read along, so use a network you trust.",
)
@click.option("--browser/--no-browser", default=True, help="Open the page in the browser.")
def command(folder: Path, port: int, lan: bool, browser: bool) -> None:
    """Open the page: the whole way from print to cut, with a phone.

    It runs on this machine alone, needs no other network, and keeps every change at once.
    """
    from scribe.web.server import Wanted, serve

    serve(Wanted(folder, port, lan, browser), lambda words: click.echo(words, err=True))
