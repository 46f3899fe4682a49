"""Errors that the points of an outline share: carried along, and added before they are squared."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.geom.frames import turned as turned_by
from scribe.outline import Outline, across
from scribe.outline_file import outline_json, read_json
from scribe.recipes.quantities import bow, chord
from scribe.shape.datum import to_datum
from scribe.shape.offset import rolled_back
from scribe.shape.smooth import smooth

SCALE_U = 0.002


def outline(*, local: float = 0.02) -> Outline:
    """A wall from x = 40 to 200 at a height of 150 on a sheet whose print scale is doubtful."""
    x = np.linspace(40.0, 200.0, 321)
    points = np.column_stack([x, 150.0 + 4.0 * np.sin(x / 25.0)])
    shared = {
        "print scale": SCALE_U * np.stack([points * [1.0, 0.0], points * [0.0, 1.0]]),
        "height": np.full((1, len(x), 2), [0.0, 0.1]),
    }
    budget = {name: across(modes, points) for name, modes in shared.items()}
    budget["localisation"] = np.full(len(x), local)
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(points, u, "left", budget=budget, shared=shared)


def drawn(made: Outline, rng: np.random.Generator) -> np.ndarray:
    """The points as they might be: one draw of every cause (JCGM 101)."""
    points = made.points.copy()
    for modes in made.shared.values():
        points = points + np.einsum("k,knd->nd", rng.normal(size=len(modes)), modes)
    return points


def test_a_point_far_from_the_corner_is_known_worse_than_the_shape() -> None:
    """150 mm * 0.2 % = 0.3 mm on the sheet; of the shape itself +-4 mm * 0.2 % = 0.008 mm."""
    made = outline()
    assert made.budget["print scale"].max() > 0.29
    shape = made.shape_alone()
    assert shape.budget["print scale"].max() < 0.06
    assert shape.budget["height"].max() == pytest.approx(0.0, abs=1e-12)  # a common shift
    assert (shape.points == made.points).all()


def test_how_close_together_points_lie_says_nothing_of_the_shape() -> None:
    """A straight line of 100 mm, 0.2 % too long or too short, is off by 0.1 mm at either end when
    its middle is where it should be, however many more points one half of it has.
    """
    x = np.concatenate([np.linspace(0.0, 50.0, 500, endpoint=False), np.linspace(50.0, 100.0, 6)])
    points = np.column_stack([np.zeros(len(x)), x])
    modes = SCALE_U * points[None]
    budget = {"print scale": across(modes, points)}
    made = Outline(
        points, budget["print scale"], "left", budget=budget, shared={"print scale": modes}
    )
    along = made.shape_alone().shared["print scale"][0, :, 1]
    assert along[[0, -1]] == pytest.approx([-0.1, 0.1])


def test_a_chord_is_as_wrong_as_the_scale() -> None:
    """160 mm * 0.2 % = 0.32 mm, however many points."""
    found = chord(outline(local=0.0))
    assert found.u == pytest.approx(160.0 * SCALE_U, rel=0.01)


def test_quantities_scatter_as_they_say() -> None:
    """Monte Carlo of the shared causes (JCGM 101): scatter of chord and bow over 4000 draws.

    A standard deviation from n draws has a relative standard uncertainty of 1 / sqrt(2 n) =
    1.1 %; four of these are allowed.
    """
    made, rng = outline(local=0.0), np.random.default_rng(5)
    values = [
        [chord(other).value, bow(other).value]
        for other in (made.with_(points=drawn(made, rng)) for _ in range(4000))
    ]
    predicted = [chord(made).u, bow(made).u]
    assert np.std(values, axis=0) == pytest.approx(predicted, rel=0.045)


def test_shapes_carry_them_along() -> None:
    made = outline()
    turned = to_datum(made, "chord")
    # A size doesn't depend on the datum; the datum is found anew with steps of a thousandth.
    assert chord(turned).u == pytest.approx(chord(made).u, rel=1e-6)
    assert bow(turned).u == pytest.approx(bow(made).u, rel=1e-6)
    framed = made.in_frame(turned_by(0.7, (30.0, -8.0)))
    assert chord(framed).u == pytest.approx(chord(made).u, rel=1e-9)
    assert bow(framed).u == pytest.approx(bow(made).u, rel=1e-9)
    assert chord(made.reversed()).u == pytest.approx(chord(made).u, rel=1e-9)
    away = rolled_back(made, 10.0)
    assert away.shared["height"][0] == pytest.approx(np.full((len(away), 2), [0.0, 0.1]))
    soft = smooth(made, 4.0)
    assert soft.shared["print scale"].shape == (2, len(soft), 2)
    assert chord(soft).u == pytest.approx(chord(made).u, rel=0.02)


def test_they_survive_the_file(tmp_path) -> None:
    path = tmp_path / "outline.json"
    path.write_text(outline_json(outline()), "utf-8")
    back = read_json(path)
    for name, modes in outline().shared.items():
        assert (back.shared[name] == modes).all()
    # A file from before they were kept reads as one without.
    import json

    content = json.loads(path.read_text("utf-8"))
    del content["shared_mm"]
    path.write_text(json.dumps(content), "utf-8")
    assert not read_json(path).shared


@pytest.mark.parametrize(
    "association",
    ["chord", "least squares", pytest.param("minimum zone", marks=pytest.mark.slow)],
)
def test_a_datum_goes_along_with_what_turns_the_outline(association: str) -> None:
    """Scatter of the shape in its datum's frame, drawn anew each time (JCGM 101), equals its u.

    The sheet is turned by 0.2 degrees as well: the place suffers by 0.6 mm at the far end, what
    is measured from the datum does not. 800 draws: 1 / sqrt(1600) = 2.5 %, four of these; and the
    second order 0.6^2 / 160 = 0.002 mm at most.
    """
    made, rng = outline(local=0.0), np.random.default_rng(11)
    about = (made.points - made.points[0])[:, ::-1] * [-1.0, 1.0] * np.radians(0.2)
    shared = {**made.shared, "pose": about[None]}
    budget = {**made.budget, "pose": across(shared["pose"], made.points)}
    made = made.with_(
        u=np.sqrt(sum(part**2 for part in budget.values())), budget=budget, shared=shared
    )
    assert made.budget["pose"].max() > 0.5
    settled = to_datum(made, association)
    assert settled.budget["pose"].max() < 1e-4
    draws = [
        to_datum(made.with_(points=drawn(made, rng)), association).points[:, 1] for _ in range(800)
    ]
    upright = np.sqrt(sum((modes[..., 1] ** 2).sum(axis=0) for modes in settled.shared.values()))
    assert upright.max() > 0.004
    assert np.std(draws, axis=0) == pytest.approx(upright, rel=0.1, abs=0.002)
