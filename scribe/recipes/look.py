"""A photo looked at: read, its camera solved, its print and paper judged.

In: files. Out: `Seen`. Photos that can't be looked at together are refused.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

import numpy as np

from scribe.camera_file import read_camera
from scribe.errors import ScribeError
from scribe.print_scale import UNCHECKED
from scribe.recipes.seen import Seen
from scribe.source import PhotoSource

Progress = Callable[[str], None]


def look(path: Path, source: PhotoSource, progress: Progress) -> Seen:
    """Read a photo and solve its camera."""
    from scribe.capture.photo_file import read_photo
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.pose.orient import orient
    from scribe.capture.sheet.paper import check_print_size
    from scribe.capture.sheet.straightened import refuse_straightened
    from scribe.target_file import read_target

    board = read_target(source.target) if source.target else None
    known = read_camera(source.camera) if source.camera else None
    scale = source.print_scale or UNCHECKED
    progress(f"reading {path.name}")
    photo = read_photo(path)
    progress("finding the marks and solving the camera")
    aspect_u = float(np.hypot(*scale.u))
    oriented = orient(photo, board=board, scale=scale.factors, aspect_u=aspect_u, known=known)
    if source.of != "line" or source.height:
        refuse_straightened(oriented)
    sheet = PhotoView(oriented, 0.0)
    paper = check_print_size(sheet, checked=scale.checked)
    return Seen(source, photo, oriented, sheet, paper, scale)


def refuse_same_files(photos: Sequence[Path]) -> None:
    """A photo counts once: its noise, taken for that of two, would look smaller than it is."""
    known: dict[bytes, Path] = {}
    for path in photos if len(photos) > 1 else ():
        if not path.is_file():
            continue
        content = sha256(path.read_bytes()).digest()
        if content in known:
            raise ScribeError(
                "photo-given-twice",
                what=f"this is the same photo as {known[content]}",
                where=str(path),
                do="give every photo once, or another one, taken from the other side",
            )
        known[content] = path


def refuse_other_sheets(seen: Sequence[Seen]) -> None:
    """Several photos must show one sheet: nothing else holds them together."""
    names = {each.oriented.target.name: each.photo.name for each in seen}
    if len(names) > 1:
        said = ", ".join(f"{sheet} in {photo}" for sheet, photo in names.items())
        raise ScribeError(
            "photos-of-two-sheets",
            what=f"the photos show different sheets ({said})",
            where=", ".join(names.values()),
            do="give photos of one sheet, or trace each photo by itself",
        )
