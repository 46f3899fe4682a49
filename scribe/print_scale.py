"""PrintScale: printed over stated length, along the sheet's x and y, and how well it is known.

Printers shrink or stretch a page by some tenths of a percent, each axis by itself. It is
measured on the two check bars of a target; measured once for a printer it goes into a file.
Where target and template come from the same printer, the same way round, the error cancels on
the template; it never cancels in the numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
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


def one_of(
    factors: tuple[float, float] | None, bars: tuple[float, float] | None, printer: Path | None
) -> PrintScale | None:
    """The scale from whichever was given; more than one of them is refused."""
    if sum(each is not None for each in (factors, bars, printer)) > 1:
        raise ScribeError(
            "print-scale-twice",
            what="the print scale is given in more than one way",
            where="--print-scale, --bars, --printer",
            do="keep one of them: the bars, if you measured them on this very sheet",
        )
    if factors is not None:
        return stated(*factors)
    if bars is not None:
        return from_bars(*bars)
    return None if printer is None else read_printer(printer)


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
