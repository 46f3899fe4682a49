"""PrintScale: printed over stated length, along the sheet's x and y, and how well it is known.

Printers shrink or stretch a page by some tenths of a percent, each axis by itself. It is
measured on the two check bars of a target; measured once for a printer it goes into a file.
Where target and template come from the same printer, the same way round, the error cancels on
the template; it never cancels in the numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from scribe.errors import ScribeError
from scribe.files import refuse_existing, write_text
from scribe.quantity import SCALE_RANGE, format_mm
from scribe.toml_file import read_toml

BAR_MM = 150  # length of a check bar
# A print nobody measured: office printers are off by some tenths of a percent, each axis by
# itself (common experience, no source). Half width 0.5 %, rectangular (JCGM 100, 4.3.7).
UNCHECKED_U = 0.005 / 3**0.5
# A bar read against a steel rule to a quarter of a millimetre, rectangular.
READ_U = 0.25 / 3**0.5 / BAR_MM
# Another page of the same printer, another day: paper moves with the air by 0.1 to 0.4 % (an
# industry note on bond paper, seen; the change of humidity isn't stated there).
ANOTHER_PAGE_U = 0.001
# Two that tell of one print contradict each other beyond so many joint standard uncertainties.
AGREE = 2.5


@dataclass(frozen=True)
class PrintScale:
    """x, y: printed over stated length. u_x, u_y: relative standard uncertainty.

    words: where it comes from, for people. checked: somebody measured it.
    """

    x: float
    y: float
    u_x: float
    u_y: float
    words: str
    checked: bool = True

    @property
    def factors(self) -> tuple[float, float]:
        """Printed over stated length along x and y."""
        return self.x, self.y

    @property
    def u(self) -> tuple[float, float]:
        """Relative standard uncertainty along x and y."""
        return self.u_x, self.u_y


UNCHECKED = PrintScale(1.0, 1.0, UNCHECKED_U, UNCHECKED_U, "not measured", checked=False)


def stated(x: float, y: float) -> PrintScale:
    """The scale as somebody worked it out from the bars."""
    return PrintScale(x, y, READ_U, READ_U, f"{x:g} x {y:g}, as stated")


def from_bars(x_bar: float, y_bar: float, *, where: str = "bars") -> PrintScale:
    """The scale from what a steel rule says of the two check bars, mm."""
    x, y = x_bar / BAR_MM, y_bar / BAR_MM
    if not all(SCALE_RANGE[0] <= factor <= SCALE_RANGE[1] for factor in (x, y)):
        raise ScribeError(
            "bars-not-credible",
            what=f"bars of {format_mm(x_bar, 2)} and {format_mm(y_bar, 2)} mm can't be check bars: "
            f"they should be {BAR_MM} mm",
            where=where,
            do=f"read both bars from 0 to {BAR_MM}, the one along the sheet's foot first",
        )
    words = f"bars of {format_mm(x_bar, 2)} and {format_mm(y_bar, 2)} mm instead of {BAR_MM}"
    return PrintScale(x, y, READ_U, READ_U, words)


def from_given(
    factors: tuple[float, float] | None, bars: tuple[float, float] | None, printer: Path | None
) -> PrintScale | None:
    """The scale from what was given; None if nothing was."""
    given = [] if factors is None else [stated(*factors)]
    given += [] if bars is None else [from_bars(*bars)]
    given += [] if printer is None else [read_printer(printer)]
    return combined(given) if given else None


def combined(scales: Sequence[PrintScale]) -> PrintScale:
    """Several that are told of one print, each axis weighed by 1/u^2 (JCGM 100, 5.1.2).

    What contradicts the others is refused. The result is never better known than the best of
    them: two readings with one rule share its error.
    """
    for one, other in combinations(scales, 2):
        for axis, a, b, u, v in zip("xy", one.factors, other.factors, one.u, other.u, strict=True):
            if abs(a - b) > AGREE * (u * u + v * v) ** 0.5:
                raise ScribeError(
                    "print-scale-contradicts",
                    what=f"along {axis} the print is {100 * a:.2f} % of its size by one and"
                    f" {100 * b:.2f} % by the other",
                    where=f"{one.words} and {other.words}",
                    do="measure the check bars of this very sheet, and give only {bars}",
                )
    if len(scales) == 1:
        return scales[0]
    x, y = (_weighed([(s.factors[k], s.u[k]) for s in scales]) for k in (0, 1))
    words = "; ".join(scale.words for scale in scales)
    u_x, u_y = (min(scale.u[k] for scale in scales) for k in (0, 1))
    return PrintScale(x, y, u_x, u_y, f"{x:.4f} x {y:.4f} from {words}")


def _weighed(values: Sequence[tuple[float, float]]) -> float:
    weights = [1.0 / u**2 for _, u in values]
    pairs = zip(weights, values, strict=True)
    return sum(weight * value for weight, (value, _) in pairs) / sum(weights)


def write_printer(
    path: Path, bars: tuple[float, float], u: tuple[float, float], *, force: bool
) -> Path:
    """Keep what a printer's bars are long, mm, with their relative standard uncertainty."""
    from_bars(*bars, where=str(path))
    refuse_existing([path], force=force)
    return write_text(
        path,
        "# A printer's scale: what its check bars of 150 mm are long, and how well that is known\n"
        "# (relative standard uncertainty). Measure again after a new cartridge, another paper or\n"
        "# another printer setting.\n"
        f"x_bar = {bars[0]!r}\ny_bar = {bars[1]!r}\nx_u = {u[0]:.6f}\ny_u = {u[1]:.6f}\n",
    )


def read_printer(path: Path) -> PrintScale:
    """The scale of a printer from its file; a page of another day is a little less sure."""
    table = read_toml(path)
    table.allow("x_bar", "y_bar", "x_u", "y_u")
    for key in ("x_bar", "y_bar"):
        table.need(key, f"write {key} = what a steel rule says of that bar, in mm")
    bars = table.length("x_bar", zero=False), table.length("y_bar", zero=False)
    scale = from_bars(*bars, where=str(path))
    own = [table.number(key, 0.0, 0.01) if key in table else READ_U for key in ("x_u", "y_u")]
    x, y = ((each**2 + ANOTHER_PAGE_U**2) ** 0.5 for each in own)
    return PrintScale(scale.x, scale.y, x, y, f"{scale.words}, printer file {path.name}")
