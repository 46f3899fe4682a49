"""What a tape adds to a run, and what happens when it contradicts the photos."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.run.network import Network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.network_tape import with_tapes
from scribe.errors import ScribeError
from scribe.recipes.run import _hangs_on_print
from scribe.tape import Cross, TapeReading
from scribe.target import strip_sheet
from tests.capture.run_world import Run, make_run

UNCHECKED = ScalePrior(np.ones(2), np.full(2, 0.003))
CHECKED = ScalePrior(np.ones(2), np.full(2, 0.0003))
PRINTED = (0.996, 1.001)


def _run(seed: int = 3, scale: tuple[float, float] = PRINTED) -> Run:
    return make_run(seed, length=1800.0, strips=6, photos=6, scale=scale, overview=True)


def _true(run: Run, one: str, other: str) -> float:
    ends = []
    for name in (one, other):
        number, letter = int(name[:-1]), name[-1]
        printed = np.array([strip_sheet("A4", number).crosses[letter]])
        ends.append(run.on_board(number, printed)[0])
    return float(np.linalg.norm(ends[1] - ends[0]))


def _reading(run: Run, one: str, other: str, U: float = 0.4, off: float = 0.0) -> TapeReading:
    a, b = (Cross(int(name[:-1]), name[-1]) for name in (one, other))
    return TapeReading(a, b, _true(run, one, other) + off, U)


def _off(run: Run, network: Network) -> float:
    wanted = _reading(run, "1A", "6B")
    return network.length(wanted)[0] - wanted.length


def test_without_a_tape_the_print_says_how_long_and_how_badly() -> None:
    run = _run(scale=(0.996, 0.996))
    network = solve_network(run.seen(1), scale=UNCHECKED)
    # A print of 99.6 % makes it too long by 0.4 % of some 1800 mm. Photos see how the print's x
    # compares with its y, so the doubts of the two, 0.3 % each, are one of 0.3 % / sqrt(2).
    assert _off(run, network) == pytest.approx(0.004 * _true(run, "1A", "6B"), rel=0.1)
    tape = _reading(run, "1A", "6B")
    _, u = network.length(tape)
    assert u == pytest.approx(0.003 / 2**0.5 * _true(run, "1A", "6B"), rel=0.05)
    assert network.length_by_scale(tape) == pytest.approx(u, rel=0.01)
    (words,) = _hangs_on_print(network)
    assert "come from the print scale" in words
    assert f"{2 * u:.1f} mm of that U" in words
    assert "{tape:1A,6B}" in words


def test_one_reading_tells_the_length_and_the_print() -> None:
    off, scales = [], []
    for seed in range(6):
        run = _run(seed)
        network = solve_network(run.seen(seed), scale=UNCHECKED)
        noise = 0.2 * float(np.random.default_rng([seed, 5]).standard_normal())
        network = with_tapes(network, [_reading(run, "1A", "6B", U=0.4, off=noise)])
        off.append(abs(_off(run, network)))
        scales.append(network.scale[0])
        assert _hangs_on_print(network) == []
    assert np.sort(off)[-2] < 0.4  # the reading's own U
    assert np.allclose(scales, PRINTED[0], atol=3e-4)


def test_a_reading_that_contradicts_a_measured_print_is_refused_with_both_numbers() -> None:
    run = _run()
    network = solve_network(run.seen(1), scale=ScalePrior(np.array(PRINTED), CHECKED.sd))
    with pytest.raises(ScribeError, match=r"the tape says .* the photos say") as refused:
        with_tapes(network, [_reading(run, "1A", "6B", off=6.0)])
    assert refused.value.kind == "tape-contradicts"
    with_tapes(network, [_reading(run, "1A", "6B", off=0.2)])


def test_the_reading_that_the_others_contradict_is_named() -> None:
    run = _run()
    network = solve_network(run.seen(1), scale=UNCHECKED)
    readings = [_reading(run, "1A", "6B"), _reading(run, "1A", "4B", off=3.0)]
    readings.append(_reading(run, "2A", "6B"))
    with pytest.raises(ScribeError, match="sheet 1 cross A to sheet 4 cross B") as refused:
        with_tapes(network, readings)
    assert refused.value.kind == "tape-contradicts"


@pytest.mark.parametrize("cross", [Cross(9, "A"), Cross(2, "Q")])
def test_a_cross_that_is_not_there_is_refused(cross: Cross) -> None:
    network = solve_network(_run().seen(1), scale=UNCHECKED)
    with pytest.raises(ScribeError, match=str(cross)) as refused:
        with_tapes(network, [TapeReading(Cross(1, "A"), cross, 500.0)])
    assert refused.value.kind == "tape-cross-unseen"
