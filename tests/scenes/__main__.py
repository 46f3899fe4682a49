"""python -m tests.scenes KIND SEED OUT [--megapixels ..]: a photo and its truth."""

from __future__ import annotations

from pathlib import Path

import click

from tests.scenes.scene import KINDS, make_scene


@click.command()
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("seed", type=int)
@click.argument("out", type=click.Path(path_type=Path, file_okay=False))
@click.option("--megapixels", type=float, default=12.0, show_default=True)
@click.option("--paper", default="A4", show_default=True)
@click.option("--height", type=float, help="mm of the outline over the sheet")
@click.option("--tilt", "tilt_deg", type=float)
@click.option("--shape")
@click.option("--material")
def main(kind: str, seed: int, out: Path, **options: object) -> None:
    """Write OUT/KIND-SEED.jpg, its truth, and say what was drawn."""
    scene = make_scene(kind, seed, **options)
    path = scene.write(out)
    click.echo(f"{path}: height {scene.height:.3f} mm, {scene.options}")


main()
