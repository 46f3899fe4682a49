"""Options that several commands have, each worded once."""

from __future__ import annotations

from pathlib import Path

import click

from scribe.commands.types import BARS, TAPE

FILE = click.Path(path_type=Path, dir_okay=False)
AS_JSON = click.option(
    "--json", "as_json", is_flag=True, help="Print the result for another program."
)
FORCE = click.option("--force", is_flag=True, help="Write over files that are there already.")
BOARD = click.option("--target", type=FILE, help="A described board of another origin (TOML).")
LENS = click.option("--camera", type=FILE, help="The lens of the phone, from scribe camera.")
CHECK_BARS = click.option(
    "--bars",
    type=BARS,
    help="What a steel rule says of the two check bars, in mm: 149.6,150.2 (x, y).",
)
PRINTER = click.option("--printer", type=FILE, help="The printer's file, from scribe printer.")
TAPES = click.option(
    "--tape",
    "tapes",
    multiple=True,
    type=TAPE,
    help="A distance measured between crosses of two strips, and its U if it isn't an ordinary "
    "tape: 1A,8B,2210.5 or 1A,8B,2210.5,1.",
)
OUTLINE_FOLDER = click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for outline.csv and outline.json.",
)
