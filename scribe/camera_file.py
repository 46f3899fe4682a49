"""A phone's lens, learnt once, as a file: TOML, px of the photo as it lies in its file.

Parameters in the order f, cx, cy, k1, k2, p1, p2, k3 (see `scribe.capture.pose.lens`), with their
covariance: what the photos left open stays open.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.files import refuse_existing, write_text
from scribe.toml_file import read_toml
from scribe.toml_table import Table

Array = npt.NDArray[np.float64]

PARAMETERS = ("f", "cx", "cy", "k1", "k2", "p1", "p2", "k3")


@dataclass(frozen=True)
class KnownLens:
    """camera: as the photos name it, may be empty. size: (width, height) px as stored.

    values: (8,). covariance: (8, 8). photos: how many it was learnt from. noise_px: rms of
    a coordinate of their marks.
    """

    camera: str
    size: tuple[int, int]
    values: Array
    covariance: Array
    photos: int
    noise_px: float


def write_camera(path: Path, lens: KnownLens, *, force: bool) -> Path:
    """Keep a lens in a file."""
    refuse_existing([path], force=force)
    rows = [f"  [{', '.join(repr(float(v)) for v in row)}]," for row in lens.covariance]
    u = np.sqrt(np.diag(lens.covariance))
    lines = [
        "# A lens as scribe camera learnt it. Learn it again for another lens or zoom.",
        f"camera = {_text(lens.camera)}",
        f"size = [{lens.size[0]}, {lens.size[1]}]",
        f"photos = {lens.photos}",
        f"noise_px = {lens.noise_px!r}",
        "",
        "[lens]",
        *(
            f"{name} = {float(value)!r}  # u {spread:.2g}"
            for name, value, spread in zip(PARAMETERS, lens.values, u, strict=True)
        ),
        "covariance = [",
        *rows,
        "]",
    ]
    return write_text(path, "\n".join(lines) + "\n")


def read_camera(path: Path) -> KnownLens:
    """Read what `write_camera` wrote; a file that can't be a lens is refused."""
    top = read_toml(path)
    if "lens" not in top:
        raise ScribeError(
            "camera-file-damaged",
            what="there is no lens in it",
            where=str(path),
            do="give the file of a lens that was learnt, or learn it {learn}",
        )
    top.allow("camera", "size", "photos", "noise_px", "lens")
    top.need("size", "learn the lens again {learn}")
    table = top.table("lens")
    table.allow(*PARAMETERS, "covariance")
    for key in (*PARAMETERS, "covariance"):
        table.need(key, "learn the lens again {learn}")
    values = np.array([_number(table, key) for key in PARAMETERS])
    covariance = np.array(_matrix(table))
    width, height = top.numbers("size", 0.0, 1e6)
    if not _is_covariance(covariance) or values[0] <= 0.0:
        raise ScribeError(
            "camera-file-damaged",
            what="the numbers in it can't be those of a lens",
            where=str(path),
            do="learn the lens again {learn}",
        )
    return KnownLens(
        camera=top.text("camera") if top.values.get("camera") else "",
        size=(int(width), int(height)),
        values=values,
        covariance=covariance,
        photos=int(_number(top, "photos")) if "photos" in top else 0,
        noise_px=_number(top, "noise_px") if "noise_px" in top else 0.0,
    )


def _is_covariance(matrix: Array) -> bool:
    """Symmetric, with positive variances and correlations that can be."""
    variance = np.diag(matrix)
    if not (variance > 0.0).all():
        return False
    alike = matrix / np.sqrt(np.outer(variance, variance))
    return bool(np.allclose(alike, alike.T) and np.linalg.eigvalsh(alike).min() > -1e-9)


def _number(table: Table, key: str) -> float:
    value = table.values[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not np.isfinite(value):
        raise table.wrong(key, "a number")
    return float(value)


def _matrix(table: Table) -> list[list[float]]:
    rows = table.values["covariance"]
    count = len(PARAMETERS)
    good = isinstance(rows, list) and len(rows) == count
    good = good and all(isinstance(row, list) and len(row) == count for row in rows)
    if not good or not all(isinstance(v, int | float) and np.isfinite(v) for r in rows for v in r):
        raise table.wrong("covariance", f"{count} rows of {count} numbers")
    return [[float(v) for v in row] for row in rows]


def _text(words: str) -> str:
    plain = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'
