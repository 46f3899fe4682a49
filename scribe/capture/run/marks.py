"""All photos of a run read once: what each shows of which sheet, without its picture."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scribe.camera_file import KnownLens
from scribe.capture.photo_file import read_photo
from scribe.capture.pose.lens_known import known_prior
from scribe.capture.pose.lens_prior import lens_prior
from scribe.capture.run.parallel import each
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.capture.sheet.sheets_seen import sheets_seen
from scribe.errors import ScribeError


@dataclass(frozen=True)
class _Order:
    path: Path
    known: KnownLens | None
    scale: tuple[float, float]


@dataclass(frozen=True)
class RunMarks:
    """photos: those that show sheets, with their paths. refused: (path, why) of the others."""

    photos: tuple[PhotoMarks, ...]
    paths: tuple[Path, ...]
    refused: tuple[tuple[Path, ScribeError], ...]


def read_run(
    paths: Sequence[Path],
    *,
    scale: tuple[float, float],
    known: KnownLens | None = None,
    done: Callable[[int, int], None] = lambda _finished, _of: None,
) -> RunMarks:
    """Read all photos over the cores; refuses when none shows a sheet."""
    found = each(_marks, [_Order(path, known, scale) for path in paths], done)
    pairs = list(zip(paths, found, strict=True))
    refused = tuple((path, it) for path, it in pairs if isinstance(it, ScribeError))
    good = [(path, it) for path, it in pairs if isinstance(it, PhotoMarks)]
    if not good:
        raise refused[0][1]
    return RunMarks(tuple(it for _, it in good), tuple(path for path, _ in good), refused)


def _marks(order: _Order) -> PhotoMarks | ScribeError:
    try:
        photo = read_photo(order.path)
        if order.known is None:
            prior = lens_prior(photo.exif, photo.size)
        else:
            prior = known_prior(order.known, photo.exif, photo.size, photo.name)
        return sheets_seen(photo, prior, order.scale)
    except ScribeError as error:
        return error
