"""Tape readings in a network: taken in, and held against what everything else says.

A reading is held against the length that the photos, the print and the other readings give
without it. Where the two differ by more than their joint U, one of them is wrong, and which
one only a person at the wall can tell: refused, with both numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scribe.capture.run.network import Network
from scribe.capture.run.network_solve import solved
from scribe.errors import ScribeError
from scribe.quantity import format_u
from scribe.standards import COVERAGE_FACTOR
from scribe.tape import TapeReading


def with_tapes(network: Network, readings: Sequence[TapeReading]) -> Network:
    """The network solved again with all readings; refuses one that contradicts the rest."""
    if not readings:
        return network
    for reading in readings:
        _refuse_unseen(network, reading)
    known = replace(network.known, tapes=tuple(readings))
    whole = solved(network.seen, known, network.rig)
    worst: tuple[float, str, str] | None = None
    for reading in readings:
        # One reading alone is held against the photos as they were before.
        one = len(readings) == 1
        rest = network if one else solved(network.seen, known.without(reading), whole.rig)
        length, u = rest.length(reading)
        joint = COVERAGE_FACTOR * float((u**2 + reading.u**2) ** 0.5)
        ratio = abs(length - reading.length) / joint
        if ratio > 1.0 and (worst is None or ratio > worst[0]):
            said = format_u(reading.length, COVERAGE_FACTOR * reading.u)
            seen = format_u(length, COVERAGE_FACTOR * u)
            others = "the photos say" if one else "photos and other readings say"
            worst = ratio, str(reading), f"the tape says {said}, {others} {seen}"
    if worst is not None:
        raise ScribeError(
            "tape-contradicts",
            what=worst[2],
            where=worst[1],
            do="measure it again from the middle of the one cross to the middle of the other; if"
            " it stays, look at the print scale that was given, and at the other readings",
        )
    return whole


def _refuse_unseen(network: Network, reading: TapeReading) -> None:
    """Refuse crosses that the photos don't show."""
    for cross in (reading.start, reading.end):
        target = next((t for t in network.seen.targets if t.number == cross.sheet), None)
        if target is None or cross.letter not in target.crosses:
            what = "no photo shows that strip" if target is None else "it has no such cross"
            raise ScribeError(
                "tape-cross-unseen",
                what=f"{what}: {cross}",
                where=str(reading),
                do="read number and letter on the strips again, or take a photo that shows it",
            )
