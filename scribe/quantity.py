"""Typed text to mm, and a value with its uncertainty to text: the only rounding in the package.

Inside the package there are only floats in mm. This is the door where what people type
becomes such a float, and where a float becomes what people read.
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from scribe.errors import ScribeError
from scribe.standards import MM_PER_INCH

# No room is longer; "2400 m" is a slip for "2400 mm".
LONGEST_MM = 100_000.0
# Printers that shrink to fit reach 0.94 (A4 on Letter); what is further off was typed wrongly.
SCALE_RANGE = (0.8, 1.25)

# mm: nobody measures a nanometre; a smaller U is what subtracting equal numbers leaves.
_NO_U = 1e-6
_DUST = Decimal("1e-9")

# What a drawing or a table may be in.
UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH}
_METRIC_MM = {"": 1, "mm": 1, "cm": 10, "m": 1000}
_INCH = Fraction(repr(MM_PER_INCH))  # exact, so that 2 3/8 in is 60.325 and not a hair less

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?|[.,]\d+")
_METRIC = re.compile(rf"({_NUMBER.pattern})\s*(mm|cm|m|)")
_IMPERIAL = re.compile(
    "(?:(?P<feet>[^a-z'\u2032]+?)\\s*(?:ft|foot|feet|'|\u2032))?\\s*"
    '(?:(?P<inches>[^a-z"\u2033]+?)\\s*(?:inches|inch|in|"|\u2033))?'
)
_FRACTION = re.compile(r"(?:(\d+)[\s-]+)?(\d+)/(\d+)")
# "1,200" is 1.2 in one country and 1200 in another; "0,125" is the same everywhere.
_TWO_MEANINGS = re.compile(r"[1-9]\d{0,2},\d{3}")

# Fractions that are one character, and what telephones and spreadsheets put for other signs.
_VULGAR = re.compile("[\u00bc-\u00be\u2150-\u215e]")
_PLAIN = str.maketrans("\u2044\u2212\u2019\u201d\u00a0\u202f", "/-'\"  ")

_WRITE_LENGTH = "write it like 1200, 12.5 mm, 6 cm, 1.2 m or 2 3/8 in"
_WRITE_SCALE = "write it like 0.997 or 0.997,1.002 (along x, along y), or 99.7 %"


def parse_length(
    typed: str | float, *, where: str = "length", negative: bool = False, zero: bool = True
) -> float:
    """A typed length in mm. A number without a unit is mm; comma and point both are decimal.

    where: what the length is for, named in the refusal. negative, zero: whether they make
    sense there. Refuses what can't be read, what can be read in two ways, and what no room holds.

    >>> parse_length("2 3/8 in"), parse_length("12,5"), parse_length("1.2 m")
    (60.325, 12.5, 1200.0)
    """
    if isinstance(typed, bool) or not isinstance(typed, str | float | int):
        raise _not_a_length(typed, where)
    value = _read(typed, where) if isinstance(typed, str) else float(typed)
    if math.isnan(value):
        raise _not_a_length(typed, where)
    if not abs(value) <= LONGEST_MM:
        raise ScribeError(
            "length-not-credible",
            what=f"{typed} is longer than any room",
            where=where,
            do="check the number and its unit; without a unit it is millimetres",
        )
    if (value < 0 and not negative) or (value == 0 and not zero):
        least = "0 or more" if zero else "more than 0"
        raise ScribeError(
            "length-sign",
            what=f"{typed} makes no sense here",
            where=where,
            do=f"give a length of {least}",
        )
    return value


def parse_scale(typed: str | float, *, where: str = "print scale") -> tuple[float, float]:
    """Printed size over true size along x and y, from "0.997", "0.997,1.002" or "99.7 %".

    Refuses what lies outside SCALE_RANGE. The comma parts x from y, so the decimal is a point.

    >>> parse_scale("99.7 %, 100.2 %"), parse_scale("1.002")
    ((0.997, 1.002), (1.002, 1.002))
    """
    parts = [part.strip() for part in re.split(r"[,;]", str(typed))]
    factors = [_factor(part, str(typed), where) for part in parts]
    if len(factors) > 2:
        raise _bad_scale(str(typed), "has more than two parts", where)
    return factors[0], factors[-1]


def parse_point(typed: str, *, where: str = "point") -> tuple[float, float]:
    """A point "X,Y" in mm; each may have a unit and a sign. With decimal commas write "X; Y".

    >>> parse_point("12.5,-30"), parse_point("12,5; 3 cm")
    ((12.5, -30.0), (12.5, 30.0))
    """
    parts = typed.split(";") if ";" in typed else typed.split(",")
    if len(parts) != 2:
        raise ScribeError(
            "point-unreadable",
            what=f"two lengths are needed, and {typed!r} is something else",
            where=where,
            do="write them like 12.5,30, or with decimal commas 12,5; 30 (in mm)",
        )
    x, y = (parse_length(part, where=where, negative=True) for part in parts)
    return x, y


def format_u(value: float, U: float | None, unit: str = "mm", *, down: bool = False) -> str:
    """A value with its expanded uncertainty U (k = 2), rounded by U (GUM 7.2.6).

    U keeps two significant digits when its first digit is 1 or 2, else one, so that rounding
    never changes it by more than a third. U is rounded up, unless going down drops less than
    1 % of it: it is never made to look smaller. The value stops at the same decimal; with down
    it is rounded down, as what is taken off must be. Without a U (None, not finite, or nothing
    but the rounding of a computer) the text says so.

    >>> format_u(12.3449, 0.058), format_u(12.3449, 0.1234)
    ('12.34 +/- 0.06 mm', '12.34 +/- 0.13 mm')
    >>> format_u(12.3449, None)
    '12.3 mm (U not known)'
    """
    if U is None or not math.isfinite(U) or U < _NO_U:
        shown_value = round_down_mm(value, 0.1) if down else value
        return f"{format_mm(shown_value)} {unit} (U not known)"
    exact = Decimal(repr(float(U)))
    digits = 2 if exact.as_tuple().digits[0] in (1, 2) else 1
    step = Decimal(1).scaleb(exact.adjusted() - digits + 1)
    low = _whole_steps(exact, step)
    shown = low if exact - low < exact / 100 else low + step
    exact_value = Decimal(repr(float(value)))
    rounded = _whole_steps(exact_value, step) if down else _nearest(value, step)
    return f"{rounded:f} +/- {shown:f} {unit}"


def format_mm(value: float, decimals: int = 1) -> str:
    """A length as text without its unit, to so many decimals, without needless zeros.

    >>> format_mm(300.0), format_mm(12.349), format_mm(-0.04)
    ('300', '12.3', '0')
    """
    text = f"{_nearest(value, Decimal(1).scaleb(-decimals)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_usual_and_worst(usual: float, worst: float) -> str:
    """Two U (k = 2) of one outline, mm, rounded up to a hundredth.

    >>> format_usual_and_worst(0.041, 0.8)
    '0.05 mm, at worst 0.80 mm'
    """
    return f"{round_up_mm(usual, 0.01):.2f} mm, at worst {round_up_mm(worst, 0.01):.2f} mm"


def round_down_mm(value: float, step: float) -> float:
    """The largest multiple of step (mm) not above value: a removal that never takes too much.

    >>> round_down_mm(3.79, 0.1), round_down_mm(2.3, 0.1)
    (3.7, 2.3)
    """
    return float(_whole_steps(Decimal(repr(float(value))), Decimal(repr(float(step)))))


def round_up_mm(value: float, step: float) -> float:
    """The smallest multiple of step (mm) not below value: what must be enough.

    >>> round_up_mm(3.71, 0.1), round_up_mm(2.3, 0.1)
    (3.8, 2.3)
    """
    return -round_down_mm(-value, step) + 0.0  # without the sign of a negative zero


def plain(typed: str) -> str:
    """What was typed, in the signs of a plain keyboard: fractions, primes, minus, spaces.

    >>> plain("3\u00bd\u201d")
    '3 1/2"'
    """
    spelt = _VULGAR.sub(lambda sign: " " + unicodedata.normalize("NFKC", sign[0]), typed)
    return spelt.translate(_PLAIN).strip()


def _read(typed: str, where: str) -> float:
    text = plain(typed).lower()
    sign = -1 if text.startswith("-") else 1
    text = text[1:].lstrip() if text[:1] in ("-", "+") else text
    metric = _METRIC.fullmatch(text)
    if metric:
        # Nobody means 1,203 m to be more than a kilometre: a laser shows its metres like that.
        number = metric[1].replace(",", ".") if metric[2] == "m" else metric[1]
        return float(sign * _number(number, typed, where) * _METRIC_MM[metric[2]])
    imperial = _IMPERIAL.fullmatch(text)
    if not text or not imperial:
        raise _not_a_length(typed, where)
    feet, inches = imperial["feet"] or "0", imperial["inches"] or "0"
    return float(sign * _INCH * (12 * _mixed(feet, typed, where) + _mixed(inches, typed, where)))


def _mixed(text: str, typed: str, where: str) -> Fraction:
    """A number, a fraction, or a whole number and a fraction."""
    fraction = _FRACTION.fullmatch(text.strip())
    if fraction is None:
        return _number(text.strip(), typed, where)
    whole, over, under = (int(part or 0) for part in fraction.groups())
    if under == 0:
        raise _not_a_length(typed, where)
    return whole + Fraction(over, under)


def _number(text: str, typed: str, where: str) -> Fraction:
    if not _NUMBER.fullmatch(text):
        raise _not_a_length(typed, where)
    if _TWO_MEANINGS.fullmatch(text):
        raise ScribeError(
            "length-ambiguous",
            what=f"{typed!r} can be read in two ways",
            where=where,
            do=f"write {text.replace(',', '')} or {text.replace(',', '.')}",
        )
    return Fraction(text.replace(",", "."))


def _not_a_length(typed: object, where: str) -> ScribeError:
    return ScribeError(
        "length-unreadable", what=f"{typed!r} is not a length", where=where, do=_WRITE_LENGTH
    )


def _factor(part: str, typed: str, where: str) -> float:
    percent = part.endswith("%")
    number = part.removesuffix("%").strip()
    if not re.fullmatch(r"\d+(?:\.\d+)?|\.\d+", number):
        raise _bad_scale(typed, "is not a scale", where)
    factor = float(Decimal(number) / 100 if percent else Decimal(number))
    if not SCALE_RANGE[0] <= factor <= SCALE_RANGE[1]:
        raise _bad_scale(typed, "is not a scale that a printer makes", where)
    return factor


def _bad_scale(typed: str, what: str, where: str) -> ScribeError:
    return ScribeError("scale-unreadable", what=f"{typed!r} {what}", where=where, do=_WRITE_SCALE)


def _nearest(value: float, step: Decimal) -> Decimal:
    steps = (Decimal(repr(float(value))) / step).to_integral_value(ROUND_HALF_EVEN)
    return (steps * step + 0).quantize(step)  # adding 0 takes the sign off a negative zero


def _whole_steps(value: Decimal, step: Decimal) -> Decimal:
    exact = value.quantize(_DUST) + 0  # what a computer leaves of a difference is no step
    return ((exact / step).to_integral_value(ROUND_FLOOR) * step).quantize(step)
