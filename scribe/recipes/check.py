"""`scribe check`: the cut edge against the line it was to follow, and the second cut."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_together
from scribe.fit.compare import Compared, compare, felt
from scribe.fit.second import second_piece
from scribe.job import Job, PhotoSource
from scribe.job_file import read_job
from scribe.outline_file import read_csv
from scribe.piece import CutEdge, Piece
from scribe.print_scale import PrintScale
from scribe.quantity import format_mm, round_down_mm
from scribe.recipes.make import fitted_piece, piece_contents
from scribe.tape import TapeReading

Progress = Callable[[str], None]

_WHOLE = 0.95  # of the cut seen: below, nobody can say that it fits
FILLER_MM = 1.0  # a joint that filler closes well (common practice, no source)
_FELT_U = 0.05  # mm, of a gap felt with leaves (common practice, no source)


@dataclass(frozen=True)
class CheckSource:
    """What was cut and what was found. files: photos of the edge, or one CSV: its points, or
    station and gap felt along the fitted piece. edge: which cut of the piece, None when it has
    one. height: of the edge above the sheet, None for the blank's thickness. filler: mm of
    gap that filler may close. print_scale, camera, tapes: as for tracing; photos of strips laid
    along an edge longer than one sheet are solved together.
    """

    job: Path
    piece: str
    files: tuple[Path, ...]
    edge: str | None = None
    height: float | None = None
    filler: float = FILLER_MM
    print_scale: PrintScale | None = None
    camera: Path | None = None
    tapes: tuple[TapeReading, ...] = ()


@dataclass(frozen=True)
class Checked:
    """What was found. overlays: PNGs of the photos. second: what a second cut makes of the piece,
    None where none is needed, or why it can't be drawn.
    """

    cut: CutEdge
    found: Compared
    filler: float
    overlays: tuple[bytes, ...]
    job: Job
    second: Piece | str | None

    def lines(self) -> list[str]:
        """The verdict, for people."""
        found, cut = self.found, self.cut
        U = 2.0 * found.u
        proud, short = found.deviation > U, found.deviation < -U
        low, high = float(found.deviation.min()), float(found.deviation.max())
        where = f"{cut.edge} edge to {cut.name}, stations from the {cut.from_end} end"
        said = [
            f"{where}, {100 * found.coverage:.0f} % of the cut seen",
            f"deviation {low:+.2f} to {high:+.2f} mm (proud +), U {float(np.median(U)):.2f} mm",
        ]
        for words, which in (("proud", proud), ("short", short)):
            if which.any():
                said.append(f"{words} beyond U: stations {_stretches(found.station[which])}")
        gap = float(found.gap.max())
        at = float(found.station[int(found.gap.argmax())])
        limit = float(np.max(U))
        if gap <= limit and found.coverage >= _WHOLE:
            said.append("it fits: pushed home, no gap is larger than U")
        elif gap <= limit:
            said.append("the part that was seen fits: pushed home, no gap there is larger than U")
        elif gap <= self.filler:
            said.append(
                f"pushed home, the largest gap is {gap:.2f} mm at {at:.0f}: filler may close that"
            )
        else:
            most = format_mm(round_down_mm(float(found.second.max()), 0.1), 1)
            place = float(found.station[int(found.second.argmax())])
            said.append(
                f"pushed home, the largest gap is {gap:.2f} mm at {at:.0f}: more than filler "
                f"should close. Second cut: take off up to {most} mm, most at {place:.0f}, as "
                "second-cut.csv says; the piece moves in by as much"
            )
        if isinstance(self.second, Piece):
            said.append(f"template and table of the second cut: {self.second.name}.pdf and others")
        elif self.second is not None:
            said.append(f"no template of a second cut: {self.second}")
        if not found.in_place:
            said.append(
                "the edge's shape alone was compared: how long and how square the piece is, tape "
                "and square tell"
            )
        return said

    def table(self) -> str:
        """station_mm, deviation_mm, u95_mm, gap_mm, remove_mm: remove rounded down."""
        rows = ["station_mm,deviation_mm,u95_mm,gap_mm,remove_mm"]
        found = self.found
        for row in zip(found.station, found.deviation, 2 * found.u, found.gap, found.second,
                       strict=True):  # fmt: skip
            station, deviation, u95, gap, remove = (float(each) for each in row)
            rows.append(
                f"{station:.1f},{deviation:.3f},{u95:.3f},{gap:.3f},"
                f"{round_down_mm(max(remove, 0.0), 0.01):.2f}"
            )
        return "\n".join(rows) + "\n"

    def summary(self) -> dict[str, Any]:
        """For another program."""
        found = self.found
        return {
            "edge": self.cut.edge,
            "outline": self.cut.name,
            "coverage": round(found.coverage, 3),
            "deviation_mm": [
                round(float(found.deviation.min()), 3),
                round(float(found.deviation.max()), 3),
            ],
            "u95_mm": round(float(2 * np.median(found.u)), 3),
            "gap_mm": round(float(found.gap.max()), 3),
            "second_cut_mm": round(float(found.second.max()), 3),
            "said": self.lines(),
        }


def check(source: CheckSource, progress: Progress = lambda _: None) -> Checked:
    """Fit the piece as `make` does, measure the edge, compare."""
    job = read_job(source.job)
    piece = fitted_piece(job, source.piece, progress)
    cut = _cut(piece, source)
    if source.files and all(path.suffix.lower() == ".csv" for path in source.files):
        return _judged(job, piece, cut, _from_csv(source, cut), source.filler, ())
    from scribe.recipes.trace import trace

    height = piece.blank.thickness if source.height is None else source.height
    photos = PhotoSource(
        source.files, "edge", height=height, print_scale=source.print_scale,
        camera=source.camera, tapes=source.tapes,
    )  # fmt: skip
    traced = trace(photos, progress)
    found = compare(cut, traced.outline)
    return _judged(job, piece, cut, found, source.filler, traced.overlays)


def _judged(
    job: Job,
    piece: Piece,
    cut: CutEdge,
    found: Compared,
    filler: float,
    overlays: tuple[bytes, ...],
) -> Checked:
    """With its second cut, where more gapes than U explains and than filler may close."""
    second: Piece | str | None = None
    if float(found.gap.max()) > max(float(2.0 * found.u.max()), filler):
        step = next(each.step for each in job.pieces if each.name == piece.name)
        second = second_piece(piece, cut, found, job.tools, step=step)
    return Checked(cut, found, filler, overlays, job, second)


def write_check(checked: Checked, out: Path, *, force: bool) -> list[Path]:
    """Write second-cut.csv, the overlays, and what to print when a second cut is needed."""
    ready_folder(out)
    contents = {"second-cut.csv": checked.table().encode("utf-8")}
    contents |= {f"overlay-{n + 1}.png": png for n, png in enumerate(checked.overlays)}
    if isinstance(checked.second, Piece):
        contents |= piece_contents(checked.job, checked.second, dxf=False)[0]
    refuse_existing([out / name for name in contents], force=force)
    return write_together(out, contents)


def check_json(checked: Checked, written: Sequence[Path]) -> str:
    """The result for another program."""
    return json.dumps({**checked.summary(), "written": [str(p) for p in written]}, indent=2)


def _cut(piece: Piece, source: CheckSource) -> CutEdge:
    named = [cut for cut in piece.cuts if source.edge in (None, cut.edge)]
    if len(named) != 1:
        edges = ", ".join(dict.fromkeys(cut.edge for cut in piece.cuts)) or "none"
        raise ScribeError(
            "check-edge",
            what=f"{source.piece} is cut along these edges: {edges}",
            where=str(source.job),
            do="name the one to check with --edge",
        )
    return named[0]


def _from_csv(source: CheckSource, cut: CutEdge) -> Compared:
    from scribe.capture.readings_table import read_table

    if len(source.files) != 1:
        raise ScribeError(
            "check-files",
            what=f"{len(source.files)} tables are too many",
            where=", ".join(path.name for path in source.files),
            do="give one table, or photos",
        )
    path = source.files[0]
    head = path.read_text(encoding="utf-8-sig").splitlines()[:1] if path.is_file() else [""]
    if "x_mm" in "".join(head):
        return compare(cut, read_csv(path, building="above"))
    table = read_table(path)
    table.need("station", "offset")
    return felt(cut, table.lengths("station"), table.lengths("offset"), _FELT_U)


def _stretches(station: np.ndarray[Any, Any]) -> str:
    """Stations that follow each other, as stretches: 40-85, 200."""
    breaks = np.flatnonzero(np.diff(station) > 12.0) + 1
    parts = np.split(station, breaks)
    return ", ".join(
        f"{part[0]:.0f}" if len(part) == 1 else f"{part[0]:.0f}-{part[-1]:.0f}" for part in parts
    )
