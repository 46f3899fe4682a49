"""The edge: refusals are one sentence, faults ask to be reported, pipes and Ctrl-C are quiet."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import click
import pytest

from scribe import __version__
from scribe.commands import main, types
from scribe.errors import DONE, REFUSED, WRONG_USE, ScribeError


@pytest.fixture
def command_that(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], None]], None]:
    """Puts a command `do` into the group that runs what it's given."""

    def install(body: Callable[[], None]) -> None:
        command = click.Command("do", callback=body)
        monkeypatch.setattr(main.LazyGroup, "get_command", lambda *_: command)

    return install


def test_a_refusal_is_one_sentence_and_status_1(
    command_that: Callable[[Callable[[], None]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse() -> None:
        raise ScribeError("some-kind", what="no marks", where="wall.jpg", do="print a target")

    command_that(refuse)
    assert main.run(["do"]) == REFUSED
    out, err = capsys.readouterr()
    assert (out, err) == ("", "scribe: wall.jpg: no marks. Print a target.\n")


def test_a_fault_asks_to_be_reported(
    command_that: Callable[[Callable[[], None]], None],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail() -> None:
        raise KeyError("pins")

    command_that(fail)
    monkeypatch.delenv(main.TRACEBACK_VARIABLE, raising=False)
    assert main.run(["do"]) == REFUSED
    quiet = capsys.readouterr().err
    assert quiet.count("\n") == 1
    assert "KeyError" in quiet
    assert "report" in quiet
    monkeypatch.setenv(main.TRACEBACK_VARIABLE, "1")
    assert main.run(["do"]) == REFUSED
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_quiet(
    command_that: Callable[[Callable[[], None]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    command_that(stop)
    assert main.run(["do"]) == main.STOPPED
    assert capsys.readouterr().err.strip().count("\n") == 0


def test_a_closed_pipe_is_quiet() -> None:
    program = (
        "import sys, click\n"
        "from scribe.commands import main\n"
        "body = lambda: [click.echo('station') for _ in range(100000)]\n"
        "main.LazyGroup.get_command = lambda *_: click.Command('do', callback=body)\n"
        "main.main(['do'])\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(8)
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait() == REFUSED
    assert err == b""


def test_wrong_use_is_status_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.run(["no-such-command"]) == WRONG_USE
    assert main.run(["--no-such-option"]) == WRONG_USE
    assert "no-such-option" in capsys.readouterr().err


def test_version_and_help_are_done(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.run(["--version"]) == DONE
    assert __version__ in capsys.readouterr().out
    assert main.run(["--help"]) == DONE
    out = capsys.readouterr().out
    for name in main.COMMANDS:
        assert f"\n  {name} " in out


def test_a_length_option_is_mm_and_nonsense_is_wrong_use() -> None:
    option = click.Option(["--height"], type=types.LENGTH)
    context = click.Context(click.Command("do"))
    assert option.type.convert("6 cm", option, context) == 60.0
    assert option.type.convert(6.0, option, context) == 6.0
    assert types.SIGNED_LENGTH.convert("-2", option, context) == -2.0
    assert types.POINT.convert("1,2", option, context) == (1.0, 2.0)
    assert types.SCALE.convert("100 %", option, context) == (1.0, 1.0)
    with pytest.raises(click.BadParameter, match="write it like"):
        option.type.convert("wide", option, context)
