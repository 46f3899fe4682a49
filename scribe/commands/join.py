"""`scribe join`: lay two outlines of one edge end to end."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scribe.commands.options import AS_JSON, FILE, FORCE, OUTLINE_FOLDER
from scribe.commands.types import LENGTH, LENGTHS, POINT
from scribe.errors import ScribeError

if TYPE_CHECKING:
    from scribe.joint import By, Joint

# What belongs to each way of joining.
_BELONGS = {
    "overlap": ("overlap", "mark", "u95"),
    "corner": ("angle", "diagonal", "u95", "angle_u95"),
    "crossing": ("reach",),
}


@click.command(name="join")
@click.argument("first", type=FILE)
@click.argument("second", type=FILE)
@click.option(
    "--by",
    type=click.Choice(["overlap", "corner", "crossing"]),
    default="overlap",
    show_default=True,
    help="What holds them together: a stretch both show, the corner where the one ends and the "
    "other begins, or where they cross when both were taken in one frame.",
)
@click.option("--overlap", type=LENGTH, help="Overlap: about how many mm both show.")
@click.option(
    "--mark",
    type=POINT,
    metavar="STATION,STATION",
    help="Overlap: stations of one mark, on either outline.",
)
@click.option("--angle", type=float, help="Corner: degrees between them on the room's side.")
@click.option(
    "--diagonal",
    type=LENGTHS,
    help="Corner: mm along the first, along the second, and between these two places.",
)
@click.option("--reach", type=LENGTH, help="Crossing: mm that either may go on straight.")
@click.option("--u95", type=LENGTH, help="U of the mark, or of an end in the corner, in mm.")
@click.option("--angle-u95", type=float, help="Corner: U of its angle, in degrees.")
@OUTLINE_FOLDER
@AS_JSON
@FORCE
def command(
    first: Path, second: Path, out: Path, as_json: bool, force: bool, **options: Any
) -> None:
    """Lay two outlines of one edge end to end.

    Give their outline.json in order, with the building on the left: ceiling, right-hand
    wall, floor, left-hand wall. What both show must match within their uncertainties; where it
    doesn't, it is refused with the place.
    """
    from scribe.recipes.join import join_files, result_json, result_lines
    from scribe.recipes.read import write_read

    joined = join_files(first, second, joint_of(**options))
    written = write_read(joined.outline, out, force=force)
    if as_json:
        click.echo(result_json(joined, written))
        return
    for line in result_lines(joined):
        click.echo(line)
    click.echo(f'Give file = "{written[1].name}" to a job file.')


def joint_of(by: By, **options: Any) -> Joint:
    """The joint as it was given; refuses options that don't belong to it."""
    from scribe.joint import Joint

    given = {name: value for name, value in options.items() if value is not None}
    for name in given:
        if name not in _BELONGS[by]:
            belongs = next(kind for kind, names in _BELONGS.items() if name in names)
            raise _option(f"--{name.replace('_', '-')} says nothing about --by {by}",
                          f"leave it out, or say --by {belongs}")  # fmt: skip
    if by == "overlap" and "overlap" not in given:
        raise _option("nobody says how much both show", "give --overlap, about how many mm")
    if "angle" in given and "diagonal" in given:
        raise _option("--angle and --diagonal are both given", "keep the better one")
    if "diagonal" in given and len(given["diagonal"]) != 3:
        raise _option("a diagonal has three lengths", "write it like --diagonal 600,800,1003")
    return Joint(by, **given)


def _option(what: str, do: str) -> ScribeError:
    return ScribeError("join-option", what=what, where="join", do=do)
