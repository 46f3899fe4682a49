"""Typed text to mm and back: hand arithmetic, and the rounding examples of the GUM."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.quantity import (
    format_mm,
    format_u,
    parse_length,
    parse_point,
    parse_scale,
    round_down_mm,
    round_up_mm,
)


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("6 cm", 60.0),
        ("2 3/8 in", 60.325),  # 2.375 x 25.4
        ("2-3/8in", 60.325),
        ('2 3/8"', 60.325),
        ("3/8 in", 9.525),  # 0.375 x 25.4
        ("8 ft", 2438.4),  # 96 x 25.4
        ("5 ft 3 1/2 in", 1612.9),  # 63.5 x 25.4
        ("5' 3 1/2\"", 1612.9),
        ("12,5", 12.5),
        ("0,125", 0.125),
        (".5", 0.5),
        (12.5, 12.5),
        (1200, 1200.0),
        ("1200 mm", 1200.0),
        ("1200mm", 1200.0),
        (" 1.2 m ", 1200.0),
        ("1,2 M", 1200.0),
        ("12.345", 12.345),
        ("1,203 m", 1203.0),  # as a laser shows it: nobody means 1.2 km
        ("\N{VULGAR FRACTION ONE HALF} in", 12.7),
        ("3\N{VULGAR FRACTION ONE HALF}\N{RIGHT DOUBLE QUOTATION MARK}", 88.9),  # 3.5 x 25.4
        ("3 1\N{FRACTION SLASH}2\N{DOUBLE PRIME}", 88.9),
        ("2\N{VULGAR FRACTION THREE EIGHTHS} in", 60.325),
        ('5\N{RIGHT SINGLE QUOTATION MARK} 3\N{VULGAR FRACTION ONE HALF}"', 1612.9),
        ("12\N{NO-BREAK SPACE}mm", 12.0),
    ],
)
def test_a_length_is_read_as_mm(typed: str | float, mm: float) -> None:
    assert parse_length(typed) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    "typed",
    ["", " ", "wide", "12 km", "1 2", "1e3", "3/0 in", "3/8", "3/8 mm", "12 in mm", "--3",
     "1.234,5", "1 200", "in", "' 3", "ft in", True, None, "nan", float("nan"),
     "\N{SUPERSCRIPT TWO}"],
)  # fmt: skip
def test_nonsense_is_refused_with_an_example(typed: str) -> None:
    with pytest.raises(ScribeError, match="Write it like") as refusal:
        parse_length(typed, where="piece 'left', width")
    assert refusal.value.kind == "length-unreadable"
    assert "piece 'left', width" in str(refusal.value)


@pytest.mark.parametrize("typed", ["1,200", "12,345 mm"])
def test_a_comma_before_three_digits_has_two_meanings_and_is_refused(typed: str) -> None:
    with pytest.raises(ScribeError) as refusal:
        parse_length(typed)
    assert refusal.value.kind == "length-ambiguous"


@pytest.mark.parametrize("typed", ["2400 m", float("inf"), "400 ft"])
def test_what_no_room_holds_is_refused(typed: str | float) -> None:
    with pytest.raises(ScribeError) as refusal:
        parse_length(typed)
    assert refusal.value.kind == "length-not-credible"


def test_the_caller_says_which_signs_make_sense() -> None:
    assert parse_length("-3 cm", negative=True) == -30.0
    assert parse_length("\N{MINUS SIGN}3", negative=True) == -3.0
    assert parse_length("0") == 0.0
    for typed, zero in (("-3", True), ("0 mm", False), (-0.5, False)):
        with pytest.raises(ScribeError) as refusal:
            parse_length(typed, zero=zero)
        assert refusal.value.kind == "length-sign"


@given(st.floats(-9e4, 9e4))
def test_what_python_prints_is_read_back_exactly(value: float) -> None:
    assert parse_length(f"{value:.12f}", negative=True) == float(f"{value:.12f}")


@pytest.mark.parametrize(
    ("typed", "factors"),
    [
        ("0.997,1.002", (0.997, 1.002)),
        ("0.997", (0.997, 0.997)),
        ("100 %", (1.0, 1.0)),
        ("99.7%, 100.2%", (0.997, 1.002)),
        ("99.7 %; 1.002", (0.997, 1.002)),
        (1.0, (1.0, 1.0)),
        (1, (1.0, 1.0)),
    ],
)
def test_a_scale_is_read_per_axis(typed: str | float, factors: tuple[float, float]) -> None:
    assert parse_scale(typed) == factors


@pytest.mark.parametrize("typed", ["", "100", "0,997", "1.5", "1,1,1", "a", "-1", "1.0,", "50 %"])
def test_a_scale_no_printer_makes_is_refused(typed: str) -> None:
    with pytest.raises(ScribeError) as refusal:
        parse_scale(typed)
    assert refusal.value.kind == "scale-unreadable"


def test_a_point_is_x_and_y() -> None:
    assert parse_point("12.5,30") == (12.5, 30.0)
    assert parse_point("-3 cm, 1 in") == (-30.0, 25.4)
    assert parse_point("12,5; 30") == (12.5, 30.0)
    for typed in ("12", "12,5,30", ""):
        with pytest.raises(ScribeError) as refusal:
            parse_point(typed)
        assert refusal.value.kind == "point-unreadable"


# GUM 7.2.6, its three examples (from memory): 10.47 mOhm may be rounded up to 11 mOhm,
# 28.05 kHz to 28 kHz, and 10.057 62 Ohm with 27 mOhm becomes 10.058 Ohm.
@pytest.mark.parametrize(
    ("value", "U", "text"),
    [
        (100.0, 10.47, "100 +/- 11 x"),
        (100.0, 28.05, "100 +/- 28 x"),
        (10.05762, 0.027, "10.058 +/- 0.027 x"),
    ],
)
def test_rounding_follows_the_gum(value: float, U: float, text: str) -> None:
    assert format_u(value, U, "x") == text


@pytest.mark.parametrize(
    ("value", "U", "text"),
    [
        (12.3449, 0.058, "12.34 +/- 0.06 mm"),
        (12.3449, 0.0601, "12.34 +/- 0.06 mm"),  # dropping 0.0001 is 0.2 % of U
        (12.3449, 0.062, "12.34 +/- 0.07 mm"),  # dropping 0.002 would be 3 %
        (12.3449, 0.3, "12.3 +/- 0.3 mm"),
        (12.3449, 0.0296, "12.345 +/- 0.030 mm"),
        (12.3449, 0.95, "12.3 +/- 1.0 mm"),
        (1234.5, 340.0, "1200 +/- 400 mm"),
        (-0.001, 0.06, "0.00 +/- 0.06 mm"),
        (0.125, 0.1, "0.12 +/- 0.10 mm"),  # halves go to the even digit
        (300.0, None, "300 mm (U not known)"),
        (300.0, 0.0, "300 mm (U not known)"),
        (300.0, math.inf, "300 mm (U not known)"),
    ],
)
def test_a_value_stops_at_the_last_digit_of_its_U(value: float, U: float, text: str) -> None:
    assert format_u(value, U) == text


@given(st.floats(-1e4, 1e4), st.floats(1e-6, 1e4))
def test_the_printed_U_is_never_smaller_than_it_is(value: float, U: float) -> None:
    shown_value, shown_U = (float(part) for part in format_u(value, U, "").split("+/-"))
    assert 0.99 * U <= shown_U <= U * 4 / 3 * (1 + 1e-12)  # 0.31 -> 0.4 is the worst step
    assert abs(shown_value - value) <= shown_U / 2 * (1 + 1e-12) + 1e-12


def test_a_length_without_needless_zeros() -> None:
    assert [format_mm(v) for v in (300.0, 12.349, -0.04, 1e5, 0.25)] == [
        "300", "12.3", "0", "100000", "0.2",
    ]  # fmt: skip
    assert format_mm(12.345, 0) == "12"
    assert format_mm(100.0, 0) == "100"


def test_a_removal_is_rounded_down() -> None:
    assert round_down_mm(3.79, 0.1) == 3.7
    assert round_down_mm(2.3, 0.1) == 2.3  # 2.3 / 0.1 is 22.999... in binary
    assert round_down_mm(0.09, 0.1) == 0.0
    assert round_down_mm(3.9, 0.5) == 3.5
    assert round_up_mm(3.71, 0.1) == 3.8
    assert round_up_mm(2.3, 0.1) == 2.3
    assert str(round_up_mm(0.0, 0.1)) == "0.0"  # not -0.0


@given(st.floats(0, 1e4), st.sampled_from([0.05, 0.1, 0.25, 0.5, 1.0]))
def test_a_removal_never_takes_too_much(value: float, step: float) -> None:
    down = round_down_mm(value, step)
    assert value - step < down <= value + 1e-9  # a picometre is a computer's, not the wood's


def test_what_a_difference_leaves_is_no_step_down() -> None:
    """0.3 - 0.1 - 0.2 is -2.8e-17 for a computer, and 0.1 + 0.7 is 0.7999...; -0 is 0."""
    assert format_u(0.3 - 0.1 - 0.2, 0.1, down=True) == "0.00 +/- 0.10 mm"
    assert format_u(-0.0, 6.1, down=True) == "0 +/- 7 mm"
    assert round_down_mm(0.1 + 0.7, 0.1) == 0.8
    assert round_down_mm(-1e-12, 0.1) == 0.0
