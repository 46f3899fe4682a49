"""`scribe --help` and `scribe --version` load nothing heavy."""

from __future__ import annotations

import subprocess
import sys

import pytest

from scribe.commands.main import COMMANDS
from tests.rules.source import CHECKOUT

HEAVY = {
    "numpy", "scipy", "cv2", "skimage", "shapely", "svgwrite", "reportlab", "ezdxf", "PIL",
    "pillow_heif", "jinja2", "rich", "starlette", "uvicorn", "segno", "tomlkit",
}  # fmt: skip

LIST_MODULES = """
import sys
from scribe.commands.main import run
status = run(sys.argv[1:])
print(*sorted({name.split(".")[0] for name in sys.modules}), file=sys.stderr)
sys.exit(status)
"""


def loaded(*arguments: str) -> set[str]:
    """The top-level modules in memory after a command has run."""
    done = subprocess.run(
        [sys.executable, "-c", LIST_MODULES, *arguments],
        cwd=CHECKOUT,
        check=True,
        capture_output=True,
        text=True,
    )
    return set(done.stderr.split())


@pytest.mark.parametrize(
    "arguments", [["--help"], ["--version"], *([name, "--help"] for name in COMMANDS)]
)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    names = loaded(*arguments)
    assert "click" in names
    assert names & HEAVY == set()
