"""`scribe camera`: learn the lens of a phone from several photos of a target."""

from __future__ import annotations

from pathlib import Path

import click

from scribe.commands.options import AS_JSON, BOARD, FILE, FORCE


@click.command(name="camera")
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=FILE)
@BOARD
@click.option(
    "-o",
    "--out",
    type=FILE,
    required=True,
    help="File to write, such as camera.toml; its picture is written beside it.",
)
@AS_JSON
@FORCE
def command(
    photos: tuple[Path, ...], target: Path | None, out: Path, as_json: bool, force: bool
) -> None:
    """Learn a phone's lens once, for later photos.

    They are then measured better with --camera. Take 5 to 15 photos of one printed target,
    taped flat: from above, and tilted by 20 to 40 degrees to all four sides, near enough that
    the target fills the picture, and some with it in the corners. Always with the same lens of
    the phone, without zoom.
    """
    from scribe.recipes.camera import camera_json, learn, write_learnt

    learnt = learn(photos, target, lambda words: click.echo(words, err=True))
    written = write_learnt(learnt, out, force=force)
    if as_json:
        click.echo(camera_json(learnt, written))
        return
    for line in learnt.lines():
        click.echo(line)
    click.echo(f"Look at {written[1]}, then give --camera {out} to scribe trace.")
