"""`scribe join`: two outlines of one edge, taken by themselves -> one."""

from __future__ import annotations

import json
from pathlib import Path

from scribe.errors import ScribeError
from scribe.joint import Joint
from scribe.outline import Outline
from scribe.outline_file import read_json
from scribe.recipes.quantities import size_words, sizes_json
from scribe.shape.join import Joined, join


def join_files(first: Path, second: Path, joint: Joint) -> Joined:
    """The second outline laid on the end of the first; both from their outline.json."""
    if first.resolve() == second.resolve():
        raise ScribeError(
            "join-option",
            what="both are the same file",
            where=str(second),
            do="give two outlines that follow one another",
        )
    pieces = [read_json(first), read_json(second)]
    return join(pieces, [joint], [_name(first), _name(second)])


def result_lines(joined: Joined) -> list[str]:
    """What the fitter wants to know first."""
    shape = joined.outline.shape_alone()
    return [
        f"joined: {joined.said[0]}",
        f"outline: {size_words(joined.outline)}",
        (
            f"U (k = 2) of the shape: {shape.U.min():.2f} to {shape.U.max():.2f} mm, worst "
            f"{_place(shape)}"
        ),
    ]


def result_json(joined: Joined, written: list[Path]) -> str:
    """The result for another program."""
    shape = joined.outline.shape_alone()
    return json.dumps(
        {
            "points": len(joined.outline),
            "joint": joined.said[0],
            **sizes_json(joined.outline),
            "u95_mm": {"best": float(shape.U.min()), "worst": float(shape.U.max())},
            "written": [str(path) for path in written],
        },
        indent=2,
        ensure_ascii=False,
    )


def _name(path: Path) -> str:
    """The folder's name says more than that every file is called outline.json."""
    return path.parent.name if path.stem == "outline" and path.parent.name else path.stem


def _place(outline: Outline) -> str:
    x, y = outline.points[int(outline.u.argmax())]
    return f"(at {x:.0f}, {y:.0f})"
