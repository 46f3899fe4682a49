"""The print scale from a rule, from a printer's file, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from scribe.commands.printer import command
from scribe.errors import ScribeError
from scribe.print_scale import (
    PrintScale,
    combined,
    from_bars,
    from_given,
    read_printer,
    stated,
    write_printer,
)
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
    assert "along the sheet's foot: -0.20 %, U 0.19 %: -0.40 mm on 200 mm" in shown.output
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
    assert from_given(None, None, None) is None
    assert from_given((0.99, 1.0), None, None) == stated(0.99, 1.0)


def test_several_are_weighed_or_contradict() -> None:
    """0.998 (u 0.1 %) and 1.000 (u 0.2 %): weights 4 to 1, so 0.9984; no better than 0.1 %."""
    fine, coarse = PrintScale(0.998, 1.0, 1e-3, 1e-3, "a"), PrintScale(1.0, 1.0, 2e-3, 2e-3, "b")
    both = combined([fine, coarse])
    assert both.x == pytest.approx(0.9984)
    assert both.u_x == 1e-3
    assert (both.words, combined([fine])) == ("0.9984 x 1.0000 from a; b", fine)
    # Two readings of the bars with u 0.096 % each: 2.5 joint u are 0.34 %.
    assert from_given((0.997, 1.0), (150.0, 150.0), None) is not None
    with pytest.raises(ScribeError) as caught:
        from_given((0.996, 1.0), (150.0, 150.0), None)
    assert caught.value.kind == "print-scale-contradicts"


def test_bars_or_card_but_not_both(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        keep_printer(None, None, tmp_path / "printer.toml", force=False)
    assert caught.value.kind == "printer-source"
