"""Photos of a run of strips -> one outline: read, solve together, trace each, lay together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.camera_file import read_camera
from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.outline_file import read_polyline
from scribe.print_scale import UNCHECKED
from scribe.quantity import format_u
from scribe.recipes.height import KnownHeight
from scribe.recipes.run_height import before_run, settled_run
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.photo_view import PhotoView
    from scribe.capture.run.marks import RunMarks
    from scribe.capture.run.network import Network
    from scribe.capture.run.network_faults import Sound
    from scribe.capture.run.trace import Piece

Array = npt.NDArray[np.float64]
Progress = Callable[[str], None]


@dataclass(frozen=True)
class TracedRun:
    """outline in the frame of the first sheet. facts: name -> words. said: sentences about
    what was left out. pieces: the photos' stretches, with the paths of their photos. assumes: what
    its U takes for granted that nothing shows.
    """

    outline: Outline
    facts: dict[str, str]
    said: tuple[str, ...]
    pieces: tuple[Piece, ...]
    paths: tuple[Path, ...]
    assumes: tuple[str, ...] = ()

    @property
    def views(self) -> tuple[PhotoView, ...]:
        """Of the photos that were traced, on the outline's plane, without their pictures."""
        return tuple(
            piece.placed.view(piece.placed.oriented.photo, piece.height) for piece in self.pieces
        )


def shows_strips(paths: Sequence[Path]) -> bool:
    """Whether the first photo that shows marks at all shows strips."""
    from scribe.capture.photo_file import read_photo
    from scribe.capture.sheet.sheets_seen import form_seen

    for path in paths:
        try:
            return form_seen(read_photo(path)) == "strip"
        except ScribeError:
            continue
    return False


def trace_strips(
    source: PhotoSource,
    progress: Progress,
    placed: Callable[[Sequence[PhotoView]], None] = lambda _: None,
) -> TracedRun:
    """Solve all photos together and trace the outline along the strips.

    placed: told the photos' views, without their pictures, before anything is traced in them.
    """
    from scribe.capture.run.agree import agreeing
    from scribe.capture.run.ends import early_ends
    from scribe.capture.run.marks import read_run
    from scribe.capture.run.merge import merged_run, run_axis
    from scribe.capture.run.network_tape import with_tapes
    from scribe.capture.run.trace import Order, trace_run
    from scribe.capture.run.view import placed_photo

    if source.of == "gauge":
        raise ScribeError(
            "run-of-gauge",
            what="a gauge can't be read on strips: its pins need clear paper behind them",
            where=source.photos[0].name,
            do="lay the gauge in the window of one sheet, or trace the line or the edge instead",
        )
    known = read_camera(source.camera) if source.camera else None
    scale = source.print_scale or UNCHECKED
    count = len(source.photos)
    marks = read_run(
        source.photos,
        scale=scale.factors,
        known=known,
        done=lambda done, of: progress(f"reading the marks: photo {done} of {of}"),
    )
    progress("solving all photos together")
    sound = _solved(source, marks)
    network = with_tapes(sound.network, source.tapes)
    height = before_run(source)
    near = None if source.near is None else read_polyline(source.near)
    paths = tuple(marks.paths[k] for k in sound.kept)
    orders = [
        Order(path, placed_photo(network, k), source.of, height.height, near)
        for k, path in enumerate(paths)
    ]
    placed([each.placed.view(each.placed.oriented.photo, each.height) for each in orders])
    found = trace_run(orders, lambda done, of: progress(f"tracing: photo {done} of {of}"))
    pieces = [it for it in found if not isinstance(it, ScribeError)]
    refused = [it for it in found if isinstance(it, ScribeError)]
    if not pieces:
        raise refused[0]
    roots = network.roots()
    height, pieces, of_height = settled_run(source, height, pieces, roots)
    pieces, unlike = agreeing(pieces, roots, height.u, run_axis(pieces))
    said = [f"{path.name} was left out: {error.what}." for path, error in marks.refused]
    said += sound.said
    untraced = [f"{error.where} was not traced: {error.what}" for error in refused]
    missing = "; ".join([*(words.rstrip(".") for words in (*said, *unlike)), *untraced])
    origin = f"run of {count} photos, {source.of}, height {height.words}"
    whole = merged_run(pieces, roots, height.u, origin, missing)
    outline = _cut(whole, source)
    said += of_height
    if source.start is None and source.end is None:
        shown = [order.placed for order in orders]
        said += early_ends(whole.points, shown, run_axis(pieces), source.of)
    said += _hangs_on_print(network)
    said += [f"Nothing was traced in one photo ({error.where}: {error.what})." for error in refused]
    facts = {
        "photos": f"{len(pieces)} of {count} traced",
        "traced": source.of,
        "sheets": ", ".join(str(number) for number in network.sheets),
        "frame": f"sheet {network.sheets[0]}",
        "marks": f"{len(network.residuals)} on {len(network.sheets)} sheets, noise"
        f" {network.noise_px:.2f} px",
        "camera": f"focal length {network.rig.lens.f:.0f} px, one lens for all",
        "print scale": scale.words,
        "height": height.words,
        "tape": "; ".join(str(reading) for reading in source.tapes) or "none",
    }
    assumes = (_assumed(height),) if height.alone else ()
    return TracedRun(outline, facts, (*said, *unlike), tuple(pieces), paths, assumes)


def _assumed(height: KnownHeight) -> str:
    """What U takes for granted where the height was stated and no overlap bears it out."""
    return (
        f"U holds for a height of {height.words} above the board that carries the strips, which was"
        " only stated: nothing in the photos bears it out. If it doesn't lie so, correct {height}"
    )


def overlays_of(run: TracedRun, outline: Outline, caption: str) -> tuple[bytes, ...]:
    """The outline drawn over every photo that was traced."""
    from scribe.capture.run.overlay import Sketch, draw_run

    shape = outline.shape_alone()
    return draw_run(
        [
            Sketch(
                run.paths[piece.index], piece.placed, piece.height, outline.points, shape.u,
                outline.measured, f"{piece.name}   {caption}",
            )
            for piece in run.pieces
        ]
    )  # fmt: skip


def _solved(source: PhotoSource, marks: RunMarks) -> Sound:
    from scribe.capture.run.network_faults import sound_network
    from scribe.capture.run.network_known import ScalePrior

    scale = source.print_scale or UNCHECKED
    prior = ScalePrior(np.array(scale.factors), np.array(scale.u))
    return sound_network(marks.photos, scale=prior)


def _hangs_on_print(network: Network) -> list[str]:
    """Without a tape the length of a run hangs on the print: by how much, and what would help."""
    from scribe.tape import Cross, TapeReading

    ends = _ends(network)
    if network.known.tapes or ends is None:
        return []
    reading = TapeReading(Cross(ends[0], "A"), Cross(ends[1], "B"), 1.0)
    length, u = network.length(reading)
    by_scale = network.length_by_scale(reading)
    if by_scale**2 < 0.5 * u**2:
        return []
    words = (
        f"From {reading.start} to {reading.end} the run is {format_u(length, 2.0 * u)} long;"
        f" {2.0 * by_scale:.1f} mm of that U come from the print scale. Measure this distance with"
        f" a tape and give it: {{tape:{ends[0]}A,{ends[1]}B}}"
    )
    return [words]


def _ends(network: Network) -> tuple[int, int] | None:
    """The two strips with crosses that lie furthest from each other."""
    crossed = [target.number for target in network.seen.targets if target.crosses]
    if not crossed:
        return None
    middle = np.array([[0.0, 0.0]])
    places = np.array([network.place(number, middle)[0, :2] for number in crossed])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    one, other = np.unravel_index(int(np.argmax(apart)), apart.shape)
    left, right = sorted((int(one), int(other)), key=lambda k: places[k, 0])
    return crossed[left], crossed[right]


def _cut(outline: Outline, source: PhotoSource) -> Outline:
    """From the start given to the end given, as far as they were."""
    first, last = 0, len(outline)
    if source.start is not None:
        first = int(np.argmin(np.hypot(*(outline.points - np.array(source.start)).T)))
    if source.end is not None:
        last = int(np.argmin(np.hypot(*(outline.points - np.array(source.end)).T))) + 1
    if last - first < 2:
        raise ScribeError(
            "outline-not-found",
            what="nothing of the outline lies between the two ends given",
            where=source.photos[0].name,
            do="give {ends} in the order in which the outline runs, x growing",
        )
    return outline.part(slice(first, last))
