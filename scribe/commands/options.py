"""Options that several commands have, each worded once."""

from __future__ import annotations

from pathlib import Path

import click

AS_JSON = click.option(
    "--json", "as_json", is_flag=True, help="Print the result for another program."
)
FORCE = click.option("--force", is_flag=True, help="Write over files that are there already.")
OUTLINE_FOLDER = click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for outline.csv and outline.json.",
)
