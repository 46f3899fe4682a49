"""`scribe camera`: several photos of a target -> the lens they share, and how well it is known."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from scribe.camera_file import PARAMETERS, KnownLens, write_camera
from scribe.errors import ScribeError
from scribe.files import refuse_existing, write_bytes

if TYPE_CHECKING:
    from scribe.capture.pose.calibrate import Calibrated
    from scribe.capture.pose.orient import Oriented

Progress = Callable[[str], None]

FEWEST = 3
_WANTED = 5
_TILT_DEG = 12.0  # photos square-on tell the focal length apart from the distance badly


@dataclass(frozen=True)
class Learnt:
    """known: for the file. left_out: photo -> why. advice: what would make it better known.

    corner_px: u of a pixel's direction in the corners of the picture, px. picture: SVG.
    """

    known: KnownLens
    used: tuple[str, ...]
    left_out: dict[str, str]
    advice: tuple[str, ...]
    corner_px: float
    tilts_deg: tuple[float, ...]
    picture: bytes

    def lines(self) -> list[str]:
        """What was learnt, for people."""
        u = 2.0 * np.sqrt(np.diag(self.known.covariance))
        f, cx, cy, k1, k2 = self.known.values[:5]
        tilts = f"{min(self.tilts_deg):.0f} to {max(self.tilts_deg):.0f} degrees"
        off = f"marks off by {self.known.noise_px:.2f} px rms"
        return [
            f"{len(self.used)} photos used, tilt {tilts}, {off}",
            *(f"left out {name}: {why}" for name, why in self.left_out.items()),
            f"focal length {f:.1f} px, U {u[0]:.1f} ({100 * u[0] / f:.2f} %)",
            f"principal point {cx:.1f}, {cy:.1f} px, U {u[1]:.1f}, {u[2]:.1f}",
            f"distortion k1 {k1:+.4f}, U {u[3]:.4f}; k2 {k2:+.4f}, U {u[4]:.4f}",
            f"in the picture's corners a direction {_corner_words(self.corner_px)}",
            *self.advice,
        ]

    def summary(self) -> dict[str, Any]:
        """For another program; U is with k = 2."""
        u = 2.0 * np.sqrt(np.diag(self.known.covariance))
        return {
            "camera": self.known.camera,
            "size_px": list(self.known.size),
            "photos": list(self.used),
            "left_out": self.left_out,
            "noise_px": round(self.known.noise_px, 4),
            "lens": {
                name: {"value": float(value), "u95": float(spread)}
                for name, value, spread in zip(PARAMETERS, self.known.values, u, strict=True)
            },
            "corner_u95_px": (
                round(2.0 * self.corner_px, 4) if np.isfinite(self.corner_px) else None
            ),
            "advice": list(self.advice),
        }


def learn(
    photos: Sequence[Path], target: Path | None, progress: Progress = lambda _: None
) -> Learnt:
    """Learn the lens of 5 to 15 photos of one target; three are the least."""
    from scribe.capture.pose.calibrate import calibrate, stored
    from scribe.capture.pose.lens_prior import LensPrior, lens_prior

    if len(photos) < FEWEST:
        raise ScribeError(
            "camera-few-photos",
            what=f"a lens can't be learnt from fewer than {FEWEST} photos, given: {len(photos)}",
            where=", ".join(path.name for path in photos) or "photos",
            do="give 5 to 15 photos of one target: tilted to all sides, and filling the picture",
        )
    seen, left_out = _orient_all(photos, target, progress)
    used = [stored(each) for each in seen]
    _refuse_mixed(used)
    if len(used) < FEWEST:
        reasons = "; ".join(f"{name}: {why}" for name, why in left_out.items())
        raise _too_few(len(used), reasons)
    progress("solving the lens")
    first = used[0].photo
    usual = lens_prior(first.exif, first.size)
    prior = LensPrior(usual.mean, 4.0 * usual.covariance)  # the photos are to say it themselves
    found = calibrate(used, prior)
    while strangers := found.strangers():
        worst = max(strangers, key=lambda k: float(found.shared_px[k] / found.own_px[k]))
        left_out[used[worst].photo.name] = (
            f"the others' lens leaves it {found.shared_px[worst]:.2f} px, its own "
            f"{found.own_px[worst]:.2f}: another camera, lens or zoom"
        )
        used.pop(worst)
        if len(used) < max(FEWEST, len(photos) // 2):
            raise ScribeError(
                "camera-photos-disagree",
                what="the photos don't share one lens: " + "; ".join(left_out),
                where=", ".join(path.name for path in photos),
                do="give photos of one camera, with one lens, at one zoom",
            )
        found = calibrate(used, prior)
    return _learnt(found, used, left_out)


def write_learnt(learnt: Learnt, out: Path, *, force: bool) -> list[Path]:
    """The file, and the picture beside it."""
    picture = out.with_suffix(".svg")
    refuse_existing([out, picture], force=force)
    return [write_camera(out, learnt.known, force=force), write_bytes(picture, learnt.picture)]


def camera_json(learnt: Learnt, written: Sequence[Path]) -> str:
    """The result for another program."""
    return json.dumps({**learnt.summary(), "written": [str(path) for path in written]}, indent=2)


def orient_one(photo: Path, target: Path | None) -> Oriented:
    """One photo with its own lens; for a worker process."""
    from scribe.capture.photo_file import read_photo
    from scribe.capture.pose.orient import orient
    from scribe.target_file import read_target

    return orient(read_photo(photo), board=read_target(target) if target else None).without_pixels()


def _orient_all(
    photos: Sequence[Path], target: Path | None, progress: Progress
) -> tuple[list[Oriented], dict[str, str]]:
    """Every photo by itself, over the cores; what can't be read is left out with its reason."""
    seen: list[Oriented] = []
    left_out: dict[str, str] = {}
    with ProcessPoolExecutor() as pool:
        waiting = [pool.submit(orient_one, photo, target) for photo in photos]
        for number, (photo, future) in enumerate(zip(photos, waiting, strict=True), start=1):
            progress(f"marks of {photo.name} ({number} of {len(photos)})")
            try:
                seen.append(future.result())
            except ScribeError as refusal:
                left_out[photo.name] = refusal.what
    if len(seen) < FEWEST:
        reasons = "; ".join(f"{name}: {why}" for name, why in left_out.items())
        raise _too_few(len(seen), reasons)
    return seen, left_out


def _too_few(count: int, reasons: str) -> ScribeError:
    return ScribeError(
        "camera-few-photos",
        what=f"only {count} of the photos can be used ({reasons})",
        where="photos",
        do="take 5 to 15 sharp photos in which the whole target can be seen",
    )


def _refuse_mixed(used: Sequence[Oriented]) -> None:
    """One lens has one sensor: photos of two sizes, or of two cameras, are told apart at once."""
    kinds = {(each.photo.size, each.photo.exif.camera): each.photo.name for each in used}
    if len(kinds) > 1:
        said = "; ".join(
            f"{name}: {size[0]} x {size[1]} px {camera}".strip()
            for (size, camera), name in kinds.items()
        )
        raise ScribeError(
            "camera-photos-disagree",
            what=f"the photos are from different cameras, or were cropped ({said})",
            where="photos",
            do="give photos of one camera, as they came out of it",
        )


def _learnt(found: Calibrated, used: Sequence[Oriented], left_out: dict[str, str]) -> Learnt:
    from scribe.capture.pose.lens import Lens
    from scribe.output.lens_plot import lens_plot

    photo = used[0].photo
    known = KnownLens(
        photo.exif.camera, photo.size, found.lens.values(), found.covariance, len(used),
        found.noise_px,
    )  # fmt: skip
    marks = [each.pixels[each.used] for each in used]
    tilts = tuple(float(camera.tilt_deg()) for camera in found.cameras)
    x, y = (np.linspace(0.03, 0.97, 13) * (side - 1) for side in photo.size)
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    even = Lens(found.lens.f, found.lens.cx, found.lens.cy)
    bend = found.lens.pixels(even.directions(grid.reshape(-1, 2))).reshape(grid.shape) - grid
    picture = lens_plot(photo.size, marks, found.residuals, grid, bend)
    corner = found.corner_u(photo.size)
    return Learnt(
        known,
        tuple(each.photo.name for each in used),
        left_out,
        tuple(_advice(known, marks, tilts, corner)),
        corner,
        tilts,
        picture,
    )


def _corner_words(u: float) -> str:
    return f"is known to {2 * u:.2f} px (U)" if np.isfinite(u) else "isn't known at all"


def _advice(
    known: KnownLens, marks: Sequence[np.ndarray[Any, Any]], tilts: Sequence[float], corner: float
) -> list[str]:
    said = []
    if len(tilts) < _WANTED:
        said.append(f"{len(tilts)} photos are few: take {_WANTED} or more.")
    f, u = known.values[0], 2.0 * float(np.sqrt(known.covariance[0, 0]))
    if max(tilts) < _TILT_DEG:
        said.append(
            f"All photos are nearly square-on: the focal length is known to {100 * u / f:.1f} % "
            "only. Add photos tilted by 20 to 40 degrees to both sides."
        )
    points = np.vstack(marks)
    reach = np.abs(points / (np.array(known.size) - 1.0) - 0.5).max(axis=0) * 2.0
    if reach.min() < 0.85:
        said.append(
            f"Marks reach only {100 * reach.min():.0f} % of the way to the picture's border, "
            f"where a direction {_corner_words(corner)}: add photos with the target in the corners."
        )
    return said
