"""Write docs/commands.md from --help: `python -m tests.rules.write_commands`."""

from __future__ import annotations

import os
import subprocess
import sys

from scribe.commands.main import COMMANDS
from tests.rules.source import CHECKOUT

DOCUMENT = CHECKOUT / "docs/commands.md"
WIDTH = "96"

OPENING = """\
# Commands

Made from `--help` by `python -m tests.rules.write_commands`; a test compares the two.
Exit status: 0 done, 1 refused (one sentence on standard error says what, where and what to do),
2 wrong use. `python -m scribe` is the same as `scribe`.
"""


def commands_text() -> str:
    """The whole document: the help of `scribe` and of every sub-command, as a person sees it."""
    sections = [OPENING, _section()] + [_section(name) for name in COMMANDS]
    return "\n".join(sections)


def _section(*words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "scribe", *words, "--help"],
        cwd=CHECKOUT,
        env=os.environ | {"COLUMNS": WIDTH},
        check=True,
        capture_output=True,
        text=True,
    )
    text = "\n".join(line.rstrip() for line in done.stdout.splitlines())
    return f"## {' '.join(('scribe', *words))}\n\n```text\n{text}\n```\n"


if __name__ == "__main__":
    DOCUMENT.write_text(commands_text(), encoding="utf-8")
    print(DOCUMENT)
