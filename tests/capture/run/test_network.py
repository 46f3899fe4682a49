"""A network of photos and strips: derivatives, scatter against prediction, figures of a run."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scribe.capture.pose.camera import rotation_by
from scribe.capture.run.network import Network
from scribe.capture.run.network_known import ScalePrior, tape_length
from scribe.capture.run.network_model import Observations, Rig, placed
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.network_start import alone_of, neighbours, start_of
from tests.capture.known import place_covariance
from tests.capture.run_world import NOISE_PX, Array, Run, make_run

UNCHECKED = ScalePrior(np.ones(2), np.full(2, 0.003))
EXACT = ScalePrior(np.ones(2), np.full(2, 1e-6))


def _rig_and_seen(seed: int = 3) -> tuple[Observations, Rig]:
    run = make_run(seed, length=900.0, strips=3, photos=3, lift=0.2)
    seen = Observations.of(run.seen(1), 1)
    rng = np.random.default_rng(seed)
    rig = start_of(seen, UNCHECKED)
    turned = np.array([rotation_by(0.01 * rng.standard_normal(3)) for _ in rig.sheet_turns])
    return seen, Rig(
        rig.lens,
        rng.normal(0.0, 5.0, rig.shifted.shape),
        np.array([1.002, 0.997]),
        rig.turns,
        rig.shifts,
        turned @ rig.sheet_turns,
        rig.centres + rng.normal(0.0, 0.5, rig.centres.shape),
    )


def _differences(seen: Observations, rig: Rig, value: object, step: float = 1e-5) -> Array:
    columns = []
    for k in range(seen.size):
        move = np.zeros(seen.size)
        move[k] = step
        ahead, behind = value(seen.moved(rig, move)), value(seen.moved(rig, -move))
        columns.append((np.asarray(ahead) - np.asarray(behind)) / (2.0 * step))
    return np.stack(columns, axis=-1)


def _spread_out(unknowns: Array, by: Array, size: int) -> Array:
    whole = np.zeros((*by.shape[:-1], size))
    for k, unknown in enumerate(unknowns):
        if unknown >= 0:
            whole[..., unknown] += by[..., k]
    return whole


def test_derivatives_of_pixels_equal_differences() -> None:
    seen, rig = _rig_and_seen()
    _, by = seen.predicted(rig)
    expected = _differences(seen, rig, lambda state: seen.predicted(state)[0])
    ends = np.append(seen.starts[1:], len(seen.points))
    for group, (first, last) in enumerate(zip(seen.starts, ends, strict=True)):
        whole = _spread_out(seen.unknowns[group], by[first:last], seen.size)
        # Central differences: third derivatives of some 1e4 px times the squared step.
        assert np.allclose(whole, expected[first:last], rtol=1e-5, atol=2e-3)


def test_derivatives_of_lengths_and_places_equal_differences() -> None:
    seen, rig = _rig_and_seen()
    tape = make_run(3, length=900.0, strips=3, photos=3).tape(1, 3)
    _, by, unknowns = tape_length(seen, rig, tape)
    expected = _differences(seen, rig, lambda state: tape_length(seen, state, tape)[0])
    assert np.allclose(_spread_out(unknowns, by, seen.size), expected, atol=1e-5)
    point = np.array([200.0, 30.0])
    _, matrix = placed(seen, rig, 1, point)
    expected = _differences(seen, rig, lambda state: placed(seen, state, 1, point)[0])
    unknowns = np.concatenate([[8, 9], seen.of_sheet(1)])
    assert np.allclose(_spread_out(unknowns, matrix, seen.size), expected, atol=1e-5)


def test_derivatives_of_the_cameras_and_priors_equal_differences() -> None:
    run = make_run(3, length=900.0, strips=3, photos=3, lift=0.2)
    network = solve_network(run.seen(1), scale=UNCHECKED, tapes=[run.tape(1, 3)])
    seen, rig = network.seen, network.rig

    def rows(state: Rig) -> Array:
        return np.concatenate([part.residuals for part in network.known.rows(seen, state)])

    parts = network.known.rows(seen, rig)
    whole = np.concatenate([_spread_out(p.unknowns, p.jacobian, seen.size) for p in parts])
    assert np.allclose(whole, _differences(seen, rig, rows), rtol=1e-4, atol=2e-2)
    for photo in (0, 2):
        camera, by = network._local(photo)

        def parameters(state: Rig, photo: int = photo, camera: object = camera) -> Array:
            from dataclasses import replace

            moved, _ = replace(network, rig=state)._local(photo)
            turn = moved.rotation @ camera.rotation.T
            small = 0.5 * np.array(
                [turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]]
            )
            return np.concatenate([moved.lens.values(), small, moved.translation])

        # A fixed set of marks fits the plane; what their x and y move is of second order.
        expected = _differences(seen, rig, parameters)
        # (sheets that tilt against their common plane by some thousandths)
        for row, wanted in zip(by, expected, strict=True):
            assert np.abs(row - wanted).max() < 5e-3 * np.abs(row).max()


def _errors(run: Run, network: Network, numbers: list[int]) -> Array:
    """(S, 2) mm, found minus true place of the middle of each strip in the first one's frame."""
    middle = np.array([[143.5, 25.0]])
    found = np.array([network.place(number, middle)[0, :2] for number in numbers])
    truth = np.array([run.in_first(run.on_board(number, middle))[0] for number in numbers])
    return np.asarray(found - truth)


def test_scatter_equals_predicted_covariance() -> None:
    """Fresh noise, the tape's reading and the scale drawn from what is stated of them."""
    numbers = [2, 3, 4]
    normalised = []
    for seed in range(25):
        rng = np.random.default_rng([seed, 99])
        scale = (1.0 + 0.003 * rng.standard_normal(), 1.0 + 0.003 * rng.standard_normal())
        run = make_run(seed, length=1200.0, strips=4, photos=4, scale=scale, lift=0.1)
        tape = run.tape(1, 4, u=0.3, off=0.3 * rng.standard_normal())
        network = solve_network(run.seen(seed), scale=UNCHECKED, tapes=[tape])
        where = [(number, np.array([143.5, 25.0])) for number in numbers]
        covariance = place_covariance(network, where)
        flat = np.array([[3 * k, 3 * k + 1] for k in range(3)]).ravel()
        error = _errors(run, network, numbers).ravel()
        inverse = np.linalg.inv(covariance[np.ix_(flat, flat)])
        normalised.append(float(error @ inverse @ error))
    # chi-square of 6 freedoms, 25 draws: mean 6 with standard deviation sqrt(12 / 25) = 0.7.
    # Sheets that are tilted less than the priors allow for make the error smaller.
    assert 3.0 < np.mean(normalised) < 6.0 + 4.0 * 0.7
    assert np.mean(np.array(normalised) < 12.6) >= 0.8  # 95 % of chi-square 6


def test_cameras_and_roots_hold_the_same_covariance() -> None:
    run = make_run(5, length=1200.0, strips=4, photos=4)
    network = solve_network(run.seen(1), scale=UNCHECKED, tapes=[run.tape(1, 4)])
    roots = np.concatenate(list(network.roots().values()), axis=2)
    for photo in range(4):
        covariance = network.camera(photo).covariance
        assert np.allclose(np.diag(roots[photo] @ roots[photo].T), np.diag(covariance), rtol=1e-6)


def test_a_photo_of_the_whole_holds_the_bow() -> None:
    """Six photos along a run and one of all of it: bow within 0.15 mm, 95 %."""
    length, strips, photos = 2400.0, 8, 6
    worst = []
    numbers = list(range(1, strips + 1))
    for seed in range(8):
        run = make_run(seed, length=length, strips=strips, photos=photos, overview=True)
        network = solve_network(run.seen(seed), scale=EXACT)
        assert network.noise_px == pytest.approx(NOISE_PX, rel=0.1)
        error = _errors(run, network, numbers)
        place = (np.array(numbers) - 1.0) / (strips - 1)
        bow = error[:, 1] - (error[0, 1] + place * (error[-1, 1] - error[0, 1]))
        worst.append(float(np.abs(bow).max()))
    assert np.sort(worst)[-2] < 0.15


def test_photos_that_were_solved_by_themselves_before_are_not_solved_again() -> None:
    photos = make_run(3, length=900.0, strips=3, photos=3).seen(1)
    before = alone_of(photos, EXACT)
    other = replace(photos[1], seen=photos[1].seen[:1])
    again = alone_of([photos[0], other, photos[2]], EXACT, before)
    assert (again[0], again[2]) == (before[0], before[2])
    assert again[1].photo is other
    first, second = (start_of(Observations.of(photos, 1), EXACT, each) for each in ((), before))
    assert (first.shifts == second.shifts).all()


def test_neighbours_lie_side_by_side() -> None:
    run = make_run(1, length=1500.0, strips=5, photos=5)
    seen = Observations.of(run.seen(1), 1)
    pairs = neighbours(seen, start_of(seen, EXACT))
    assert {(k, k + 1) for k in range(4)} <= set(pairs)
    assert all(b - a <= 2 for a, b in pairs)
