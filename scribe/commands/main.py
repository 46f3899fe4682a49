"""The `scribe` command: finds the sub-commands, and turns every refusal into one sentence.

Nothing heavy is imported here. A sub-command's own module is imported when it's called or
listed; that module imports its recipe inside the function that runs.
"""

from __future__ import annotations

import importlib
import os
import sys
import traceback
from collections.abc import Sequence
from typing import NoReturn

import click

from scribe import __version__
from scribe.errors import DONE, REFUSED, ScribeError
from scribe.places import COMMAND, told

# In the order of the work; each is scribe/commands/NAME.py.
COMMANDS: tuple[str, ...] = (
    "survey",
    "target",
    "printer",
    "camera",
    "trace",
    "read",
    "join",
    "make",
    "check",
    "demo",
    "serve",
)

STOPPED = 130  # 128 + SIGINT, as shells report it
TRACEBACK_VARIABLE = "SCRIBE_TRACEBACK"


class LazyGroup(click.Group):
    """A group whose commands are imported by name when they're asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's
        """Every sub-command, in the order of the work."""
        return list(COMMANDS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002 - click's
        cmd_name: str,
    ) -> click.Command | None:
        """The command of that name, or None when there is none."""
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"scribe.commands.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    epilog="Every command tells more with --help. All lengths are millimetres unless you write "
    "a unit.",
)
@click.version_option(__version__, prog_name="scribe")
def group() -> None:
    """Measure where built-in furniture meets the building, and make the template that fits.

    Print a target, photograph the wall's outline on it, trace the photo, describe the piece in a
    job file, and make the full-size template with a table of how much to take off where.
    """


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run one command and leave with its exit status: the only place that prints a refusal."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status (0 done, 1 refused, 2 wrong use)."""
    try:
        status = group.main(arguments, prog_name="scribe", standalone_mode=False)
        sys.stdout.flush()
    except ScribeError as refusal:
        return _say(str(told(refusal, COMMAND)), REFUSED)
    except click.ClickException as wrong:
        wrong.show()
        return wrong.exit_code
    except (click.Abort, KeyboardInterrupt):
        return _say("stopped; files that were there before are still whole.", STOPPED)
    except BrokenPipeError:
        # Whoever read our output has gone; leave the interpreter nothing to flush.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return REFUSED
    except Exception as fault:  # noqa: BLE001 - the edge: a fitter is never shown a traceback
        return _report(fault)
    return status if isinstance(status, int) else DONE


def _report(fault: Exception) -> int:
    if os.environ.get(TRACEBACK_VARIABLE):
        traceback.print_exception(fault)
    return _say(
        f"a fault in scribe itself, not in what you gave it ({type(fault).__name__}: {fault}). "
        f"Please report it with the command, its files and what it prints when "
        f"{TRACEBACK_VARIABLE}=1 is set.",
        REFUSED,
    )


def _say(sentence: str, status: int) -> int:
    click.echo(f"scribe: {sentence}", err=True)
    return status
