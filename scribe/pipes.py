"""How far a pipe grows when it warms, and what that means for the hole round it.

A run of length L grows by L a dT along itself. Where it turns and goes through a piece, the
piece sees that growth sideways: so much more must be free on that side. Advice, never a
promise: where a pipe is held, and how warm it gets, its fitter knows.
"""

from __future__ import annotations

from dataclasses import dataclass

from scribe.quantity import format_mm, round_down_mm, round_up_mm
from scribe.standards import PIPE_EXPANSION

# Common practice, no source: what is left all round a heating pipe when nothing else is said.
HEATING_CLEARANCE_MM = 5.0
# Common practice, no source: from a cold house to a heating at full flow.
WARMS_K = 50.0


@dataclass(frozen=True)
class Pipe:
    """material: a key of PIPE_EXPANSION. run: mm from where it is held to where it turns into
    the hole, 0 when it is held there. warms: K.
    """

    material: str
    run: float = 0.0
    warms: float = WARMS_K

    @property
    def growth(self) -> float:
        """mm by which the run grows.

        >>> round(Pipe("copper", 4000.0, 60.0).growth, 2)
        4.08
        """
        return self.run * PIPE_EXPANSION[self.material] * self.warms


def pipe_note(name: str, pipe: Pipe, clearance: float, U: float) -> str:
    """Whether the clearance takes up growth and the U of the centre, in one sentence or two."""
    growth = format_mm(pipe.growth, 1)
    said = (
        f"Pipe {name}: {format_mm(pipe.run, 0)} mm of {pipe.material} grow by {growth} mm when "
        f"warmed by {pipe.warms:g} degrees, sideways where they turn into the hole. "
    )
    left = clearance - pipe.growth - U
    if left >= 0.0:
        free = format_mm(round_down_mm(left, 0.1), 1)
        return said + f"Of the clearance, {free} mm are left after that and the U of its centre."
    short = format_mm(round_up_mm(-left, 0.1), 1)
    more = format_mm(round_up_mm(clearance - left, 0.1), 1)
    return said + (
        f"That and the U of its centre are {short} mm more than the clearance, so the pipe may "
        f"press against the wood: leave {more} mm."
    )
