"""What the rules read: the package's modules as syntax trees, and the files git knows."""

from __future__ import annotations

import ast
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Module:
    """One module of the package: its dotted name, its file and its syntax tree."""

    name: str
    path: Path
    tree: ast.Module


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package, by name."""
    found = []
    for path in sorted((CHECKOUT / "scribe").rglob("*.py")):
        parts = path.relative_to(CHECKOUT).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found.append(Module(name, path, ast.parse(path.read_text("utf-8"))))
    return tuple(found)


@cache
def tracked() -> tuple[Path, ...]:
    """Every file that git tracks or would add, as an absolute path."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=CHECKOUT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split("\0")
    return tuple(path for name in listed if name and (path := CHECKOUT / name).is_file())


def table(document: Path, first_column: str) -> list[list[str]]:
    """The cells of the Markdown table whose header starts with that column, row by row."""
    rows: list[list[str]] = []
    inside = False
    for line in document.read_text("utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if not line.startswith("|"):
            inside = False
        elif inside and not set(line) <= set("|-: "):
            rows.append(cells)
        elif cells[0] == first_column:
            inside = True
    return rows
