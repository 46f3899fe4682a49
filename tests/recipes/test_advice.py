"""The act that would help most, and the number it would bring."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.capture.measure import Doubts
from scribe.outline import Outline, across
from scribe.print_scale import READ_U, UNCHECKED_U, stated
from scribe.recipes.advice import Act, Taken, acts_for_many, acts_for_photo, advice
from scribe.recipes.drawn import Drawn
from scribe.recipes.height import known_height
from scribe.recipes.look import look
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.scenes.scene import make_scene

BARS_READ = stated(1.0, 1.0)


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, float]:
    scene = make_scene("edge", 41, megapixels=5, shape="smooth", tilt_deg=15.0)
    return scene.write(tmp_path_factory.mktemp("advice")), scene.height


def acts_of(source: PhotoSource) -> dict[str, Act]:
    drawn = drawn_of(source)
    taken = Taken(drawn.trace, drawn.view, drawn.doubts)
    found = acts_for_photo(taken, source)
    return {act.words: act for act in found}


def drawn_of(source: PhotoSource) -> Drawn:
    seen = look(source.photos[0], source, lambda _: None)
    return seen.outline(known_height([seen], source, lambda _: None))


def u_named(sentence: str) -> list[float]:
    return [float(number) for number in re.findall(r"([\d.]+) mm", sentence)]


def test_the_height_is_asked_for_and_brings_what_was_said(photo: tuple[Path, float]) -> None:
    """Told the height, the same photo has the U that the advice named, rounded up to 0.01."""
    path, height = photo
    source = PhotoSource((path,), "edge", print_scale=BARS_READ)
    untold = trace(source)
    (sentence,) = untold.advice
    assert "from height" in sentence
    assert "({height})" in sentence
    told = trace(replace(source, height=height)).outline.shape_alone()
    brings = u_named(sentence.split("bring")[1])[0]
    assert 2 * np.sqrt((told.u**2).mean()) == pytest.approx(brings - 0.005, abs=0.0051)


def test_nothing_is_advised_where_nothing_helps(photo: tuple[Path, float]) -> None:
    path, height = photo
    known = trace(PhotoSource((path,), "edge", height=height, print_scale=BARS_READ))
    assert known.advice == ()


def test_a_second_photo_takes_a_guessed_height_away(photo: tuple[Path, float]) -> None:
    """Of the guess's 12 mm little is left: two photos tell some tenths of a millimetre."""
    acts = acts_of(PhotoSource((photo[0],), "edge", print_scale=BARS_READ))
    second = next(act for words, act in acts.items() if "second photo" in words)
    now = drawn_of(PhotoSource((photo[0],), "edge", print_scale=BARS_READ)).outline
    assert np.median(second.outline.shape_alone().u) < 0.2 * np.median(now.shape_alone().u)


def test_acts_are_only_those_that_are_left_and_could_be_worth_it(photo: tuple[Path, float]) -> None:
    path, height = photo
    guessed = " ".join(acts_of(PhotoSource((path,), "edge")))
    assert "{height}" in guessed
    assert "second photo" in guessed
    told = " ".join(acts_of(PhotoSource((path,), "edge", height=height)))
    assert "{bars}" in told
    assert "{height}" not in told
    assert "second photo" not in told
    known = PhotoSource((path,), "edge", height=height, print_scale=BARS_READ)
    assert "{bars}" not in " ".join(acts_of(known))


def wide(far: float) -> Outline:
    """A line of 150 mm whose print scale and height are doubtful, the height at one end by more."""
    x = np.linspace(30.0, 180.0, 100)
    points = np.column_stack([x, 100.0 + 0.5 * x])
    lift = np.column_stack([np.zeros(100), np.linspace(-0.1, far, 100) ** 3])
    shared = {
        "print scale": UNCHECKED_U * np.stack([points * [1.0, 0.0], points * [0.0, 1.0]]),
        "height": lift[None],
    }
    budget = {name: across(modes, points) for name, modes in shared.items()}
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(points, u, "left", budget=budget, shared=shared)


def test_bars_bring_what_reading_them_is_worth() -> None:
    """Only the print scale is in doubt: U falls as its u does."""
    outline = wide(0.1)
    source = PhotoSource((Path("a.jpg"), Path("b.jpg")), "line")
    (sentence,) = advice(outline, list(acts_for_many(outline, source)))
    assert "{bars}" in sentence
    assert "end" not in sentence
    now, then = u_named(sentence)
    assert then / now == pytest.approx(READ_U / UNCHECKED_U, abs=0.04)


def test_the_worse_end_is_named() -> None:
    outline = wide(1.0)
    source = PhotoSource((Path("a.jpg"), Path("b.jpg")), "line")
    (sentence,) = advice(outline, list(acts_for_many(outline, source)))
    assert "({height})" in sentence
    assert sentence.count("towards the right end") == 2
    turned = outline.reversed()
    (same,) = advice(turned, list(acts_for_many(turned, source)))
    assert same == sentence


def test_doubts_can_be_replaced(photo: tuple[Path, float]) -> None:
    """What is foreseen with nothing changed is what there is."""
    drawn = drawn_of(PhotoSource((photo[0],), "edge"))
    taken = Taken(drawn.trace, drawn.view, drawn.doubts)
    assert (taken.outline().u == drawn.outline.u).all()
    assert taken.outline(view=drawn.view).u == pytest.approx(drawn.outline.u)
    sure = taken.outline(doubts=Doubts((0.0, 0.0), 0.0, 0.0))
    assert (sure.u < drawn.outline.u).all()
