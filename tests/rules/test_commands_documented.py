"""docs/commands.md is what --help says, and the README's commands are what .ci/run runs."""

from __future__ import annotations

import re

import click

from scribe.commands.main import COMMANDS, group
from tests.rules.source import CHECKOUT
from tests.rules.write_commands import DOCUMENT, commands_text


def test_the_commands_are_documented_as_they_are() -> None:
    assert DOCUMENT.read_text("utf-8") == commands_text(), (
        "run: python -m tests.rules.write_commands"
    )


def test_every_command_module_is_listed() -> None:
    modules = {path.stem for path in (CHECKOUT / "scribe/commands").glob("*.py")}
    assert modules - {"__init__", "main", "options", "types"} == set(COMMANDS)


def test_every_command_and_option_says_what_it_is_for() -> None:
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        assert command is not None
        # What a terminal of 80 columns leaves for it in the list of commands.
        line = command.get_short_help_str(limit=66)
        assert line
        assert not line.endswith("..."), f"{name}: {line}"
        for option in command.params:
            assert not isinstance(option, click.Option) or option.help, f"{name} {option.opts}"


def readme_commands() -> list[str]:
    """The lines of the README's first code block."""
    text = (CHECKOUT / "README.md").read_text("utf-8")
    blocks = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    return [line for line in blocks[0].splitlines() + blocks[1].splitlines() if line]


def test_the_readme_s_two_commands_are_what_ci_runs() -> None:
    commands = readme_commands()
    assert len(commands) == 2
    script = (CHECKOUT / ".ci/run").read_text("utf-8").splitlines()
    assert [line for line in script if line in commands] == commands
