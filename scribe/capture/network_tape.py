"""Tape readings in a network: taken in, and held against what everything else says.

A reading is held against the length that the photos, the print and the other readings give
without it. Where the two differ by more than their joint U, one of them is wrong, and which
one only a person at the wall can tell: refused, with both numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scribe.capture.network import Network, solved
from scribe.capture.network_known import Mark, Tape
from scribe.errors import ScribeError
from scribe.quantity import format_u
from scribe.standards import COVERAGE_FACTOR
from scribe.tape import Cross, TapeReading
from scribe.target import Target


def with_tapes(network: Network, readings: Sequence[TapeReading]) -> Network:
    """The network solved again with all readings; refuses one that contradicts the rest."""
    if not readings:
        return network
    tapes = [tape_of(network, reading) for reading in readings]
    known = replace(network.known, tapes=tuple(tapes))
    whole = solved(network.seen, known, network.rig)
    worst: tuple[float, str, str] | None = None
    for reading, tape in zip(readings, tapes, strict=True):
        # One reading alone is held against the photos as they were before.
        rest = network if len(tapes) == 1 else solved(network.seen, known.without(tape), whole.rig)
        length, u = rest.length(tape)
        joint = COVERAGE_FACTOR * float((u**2 + tape.u**2) ** 0.5)
        ratio = abs(length - tape.length) / joint
        if ratio > 1.0 and (worst is None or ratio > worst[0]):
            said = format_u(tape.length, COVERAGE_FACTOR * tape.u)
            seen = format_u(length, COVERAGE_FACTOR * u)
            others = "the photos say" if len(tapes) == 1 else "photos and other readings say"
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


def tape_of(network: Network, reading: TapeReading) -> Tape:
    """The reading between places on the sheets; refuses crosses that the photos don't show."""
    ends = []
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
        ends.append(mark_of(target, cross))
    return Tape(ends[0], ends[1], reading.length, reading.u)


def mark_of(target: Target, cross: Cross) -> Mark:
    """A cross by its place on its sheet."""
    return Mark(target.number, cross.letter, target.crosses[cross.letter])
