"""What contradicts a network is named, left out or refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scribe.capture.exif import Exif
from scribe.capture.pose.lens_prior import lens_prior
from scribe.capture.run.network_faults import sound_network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.errors import ScribeError
from tests.capture.run_world import SIZE, Run, make_run

EXACT = ScalePrior(np.ones(2), np.full(2, 1e-6))


def _run(seed: int = 2) -> Run:
    return make_run(seed, length=2400.0, strips=8, photos=10, overlap=700.0)


def test_a_sound_run_says_nothing() -> None:
    for seed in range(3):
        sound = sound_network(_run(seed).seen(seed), scale=EXACT)
        assert sound.said == ()
        assert sound.kept == tuple(range(10))


def _moved(run: Run, sheet: int, by: float, photos: range) -> list[PhotoMarks]:
    """The photos as taken, but in some of them one sheet lies `by` mm further on."""
    angle, x, y, z = run.strips[sheet]
    pushed = replace(run, strips={**run.strips, sheet: (angle, x + by, y, z)})
    before, after = run.seen(5), pushed.seen(5)
    return [after[k] if k in photos else before[k] for k in range(len(before))]


def test_a_sheet_that_was_moved_is_named_and_left_out() -> None:
    run = _run()
    sound = sound_network(_moved(run, 4, 1.5, range(5, 10)), scale=EXACT)
    assert len(sound.said) == 1
    assert "Sheet 4 was left out: it was moved" in sound.said[0]
    assert 4 not in sound.network.sheets
    place = sound.network.place(8, np.array([[143.0, 25.0]]))[0, :2]
    truth = run.in_first(run.on_board(8, np.array([[143.0, 25.0]])))[0]
    assert abs(place[0] - truth[0]) < 0.3


def test_where_photos_overlap_too_little_to_tell_all_of_them_are_refused() -> None:
    run = make_run(2, length=2400.0, strips=8, photos=8, overlap=500.0)
    with pytest.raises(ScribeError, match="photo4 and photo5") as refused:
        sound_network(_moved(run, 4, 1.5, range(4, 8)), scale=EXACT)
    assert refused.value.kind == "network-disagrees"


def test_a_photo_by_another_lens_is_named_by_its_misfit() -> None:
    run = _run()
    # Another lens bends otherwise; a longer one of the same kind looks like a step back.
    zoomed = replace(run.cameras[3], f_px=1.3 * run.cameras[3].f_px, lens=(-0.15, 0.05, 0, 0, 0))
    other = replace(run, cameras=[*run.cameras[:3], zoomed, *run.cameras[4:]])
    sound = sound_network(other.seen(1), scale=EXACT)
    assert len(sound.said) == 1
    assert "photo4 was left out" in sound.said[0]
    assert 3 not in sound.kept


@pytest.mark.slow
def test_a_zoomed_photo_that_the_others_hang_on_is_named_as_such() -> None:
    """Five photos of 1.5 m: without the third nothing joins both ends, so it can't be left out."""
    run = make_run(2, length=1500.0, strips=6, photos=5, overlap=250.0)
    zoomed = replace(run.cameras[2], f_px=1.25 * run.cameras[2].f_px, lens=(-0.15, 0.05, 0, 0, 0))
    other = replace(run, cameras=[*run.cameras[:2], zoomed, *run.cameras[3:]])
    with pytest.raises(ScribeError, match="it was taken with another lens or zoom") as refused:
        sound_network(other.seen(1), scale=EXACT)
    assert refused.value.kind == "network-disagrees"
    assert refused.value.where == "photo3"


def test_a_photo_by_another_lens_is_named_by_its_file() -> None:
    photos = _run().seen(1)
    photos[2] = replace(photos[2], prior=lens_prior(Exif(1, 5200.0, "", same_frame=True), SIZE))
    sound = sound_network(photos, scale=EXACT)
    assert "photo3 was left out: it is of another lens, zoom or size" in sound.said[0]
    for k in (4, 5, 6):
        photos[k] = replace(photos[k], prior=photos[2].prior)
    with pytest.raises(ScribeError, match="photo3, photo5, photo6 and photo7") as refused:
        sound_network(photos, scale=EXACT)
    assert refused.value.kind == "photos-two-lenses"


def test_photos_that_share_nothing_are_refused_by_name() -> None:
    photos = [photo for photo in _run().seen(1) if photo.name in ("photo1", "photo2", "photo10")]
    with pytest.raises(ScribeError, match="photo10") as refused:
        sound_network(photos, scale=EXACT)
    assert refused.value.kind == "photos-apart"


def test_the_same_photo_twice_is_refused() -> None:
    photos = _run().seen(1)
    with pytest.raises(ScribeError, match="photo1") as refused:
        sound_network([*photos, photos[0]], scale=EXACT)
    assert refused.value.kind == "photo-given-twice"


@pytest.mark.slow
def test_a_photo_whose_marks_make_no_sense_is_left_out() -> None:
    photos = _run().seen(1)
    rng = np.random.default_rng(1)
    seen = tuple(
        replace(
            marks, pixels=marks.pixels + rng.normal(0.0, 6.0, 2) * (1 + marks.points[:, :1] / 50)
        )
        for marks in photos[4].seen
    )
    photos[4] = replace(photos[4], seen=seen)
    sound = sound_network(photos, scale=EXACT)
    assert "photo5 was left out" in sound.said[0]
