"""A strip cut to a wall, and its edge as somebody may have measured it, wrong by known amounts."""

from __future__ import annotations

from pathlib import Path

import numpy as np

X = np.arange(0.0, 400.5, 2.0)
WALL = 5.0 * np.sin(X / 40.0) + 2.0 * np.sin(X / 13.0)


def strip_job(folder: Path) -> Path:
    rows = "".join(f"{x:.3f},{y:.4f},0.1\n" for x, y in zip(X, WALL, strict=True))
    (folder / "wall.csv").write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    path = folder / "job.toml"
    path.write_text(
        '[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n[[piece]]\nname = "strip"\n'
        "blank = { length = 400, width = 60, thickness = 6 }\n[[piece.edge]]\n"
        'outline = "wall"\nedge = "top"\nclearance = 0.5\n',
        "utf-8",
    )
    return path


def edge_csv(folder: Path, wrong: np.ndarray, ends: float = 20.0, U: float = 0.05) -> Path:
    """The wall's own line as it was cut, off by so much, turned and shifted on the sheet."""
    inside = (X > ends) & (X < 400 - ends)
    points = np.column_stack([X, WALL + wrong])[inside]
    cosine, sine = np.cos(0.2), np.sin(0.2)
    points = points @ np.array([[cosine, sine], [-sine, cosine]]) + [33.0, 90.0]
    rows = "".join(f"{x:.4f},{y:.4f},{U}\n" for x, y in points)
    path = folder / "cut.csv"
    path.write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    return path


def in_place(folder: Path, wrong: np.ndarray, along: float = 0.0) -> Path:
    """Points of the edge in the frame of the piece: the wall was at most 7 mm off, and the blank
    was held against it, so the wall's datum lies where its highest place meets the blank's edge.
    """
    top = 60.0 - WALL.max() + 0.5 - 0.5
    rows = "".join(
        f"{x + along:.4f},{y + top:.4f},0.05\n" for x, y in zip(X, WALL + wrong, strict=True)
    )
    path = folder / "placed.csv"
    path.write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    return path
