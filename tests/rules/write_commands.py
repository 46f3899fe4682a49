"""Write docs/commands.md from --help: `python -m tests.rules.write_commands`."""

from __future__ import annotations

import click

from scribe.commands.main import group
from tests.rules.source import CHECKOUT

DOCUMENT = CHECKOUT / "docs/commands.md"
WIDTH = 96

OPENING = """\
# Commands

Made from `--help` by `python -m tests.rules.write_commands`; a test compares the two.
Exit status: 0 done, 1 refused (one sentence on standard error says what, where and what to do),
2 wrong use. `python -m scribe` is the same as `scribe`.
"""


def commands_text() -> str:
    """The whole document: the help of `scribe` and of every sub-command."""
    parts = [OPENING, _section("scribe", group)]
    context = click.Context(group, info_name="scribe")
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        parts.append(_section(f"scribe {name}", command))
    return "\n".join(parts)


def _section(path: str, command: click.Command) -> str:
    settings = {"terminal_width": WIDTH, "max_content_width": WIDTH, "color": False}
    parent = click.Context(click.Group("scribe"), info_name="scribe")
    words = path.split()
    context = click.Context(
        command,
        info_name=words[-1],
        parent=parent if len(words) > 1 else None,
        help_option_names=["-h", "--help"],
        **settings,  # type: ignore[arg-type]
    )
    text = "\n".join(line.rstrip() for line in command.get_help(context).splitlines())
    return f"## {path}\n\n```text\n{text}\n```\n"


if __name__ == "__main__":
    DOCUMENT.write_text(commands_text(), encoding="utf-8")
    print(DOCUMENT)
