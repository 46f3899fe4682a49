"""The print scale from a rule, from a printer's file, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from scribe.commands.printer import command
from scribe.errors import ScribeError
from scribe.print_scale import from_bars, one_of, read_printer, stated, write_printer
from scribe.recipes.printer import keep_printer


def test_bars_give_both_axes() -> None:
    """149.7 of 150 is 0.998; a quarter of a millimetre, rectangular, is 0.096 % of the bar."""
    scale = from_bars(149.7, 150.15)
    assert scale.factors == (pytest.approx(0.998), pytest.approx(1.001))
    assert scale.u_x == pytest.approx(0.000962, abs=1e-6)


def test_a_printer_is_measured_once(tmp_path: Path) -> None:
    path = tmp_path / "printer.toml"
    shown = CliRunner().invoke(command, ["--bars", "149.7,150.15", "-o", str(path)])
    assert shown.exit_code == 0, shown.output
    assert "along x: -0.20 %, U 0.19 %: -0.40 mm on 200 mm" in shown.output
    kept = read_printer(path)
    assert kept.factors == from_bars(149.7, 150.15).factors
    # Another page of another day: 0.096 % and 0.1 % together.
    assert kept.u_x == pytest.approx(0.00139, abs=1e-5)
    with pytest.raises(ScribeError) as caught:
        write_printer(path, (150.0, 150.0), (0.001, 0.001), force=False)
    assert caught.value.kind == "output-exists"


def test_what_cannot_be_a_bar_is_refused() -> None:
    with pytest.raises(ScribeError) as caught:
        from_bars(15.0, 150.0)
    assert caught.value.kind == "bars-not-credible"
    with pytest.raises(ScribeError) as twice:
        one_of((1.0, 1.0), (150.0, 150.0), None)
    assert twice.value.kind == "print-scale-twice"
    assert one_of(None, None, None) is None
    assert one_of((0.99, 1.0), None, None) == stated(0.99, 1.0)


def test_bars_or_card_but_not_both(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        keep_printer(None, None, tmp_path / "printer.toml", force=False)
    assert caught.value.kind == "printer-source"
