"""An edge with a shadow's border close beside it: the inner step is found, one step isn't it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import ndtr

from scribe.capture.edges.profile import fit_step
from scribe.capture.edges.two_steps import fit_beside_shadow

Array = npt.NDArray[np.float64]
PIXELS = np.arange(-12.0, 13.0)
BLUR = 1.0


def rows_of(at: Array, gap: float, strip: float, soft: float = 1.4) -> Array:
    """Object 0.2, a strip of shadow `gap` pixels wide, paper 0.6."""
    inner = ndtr((PIXELS - at[:, None]) / BLUR)
    outer = ndtr((PIXELS - at[:, None] - gap) / soft)
    return 0.2 + (strip - 0.2) * inner + (0.6 - strip) * outer


@pytest.mark.parametrize(("gap", "strip"), [(3.0, 0.35), (4.5, 0.4), (6.0, 0.35)])
def test_the_inner_step_is_found(gap: float, strip: float) -> None:
    rng = np.random.default_rng(1)
    at = rng.uniform(-1.0, 1.0, 800)
    rows = rows_of(at, gap, strip)
    noisy = rows + rng.normal(0, 0.003, rows.shape)
    one = fit_step(PIXELS, noisy, pixel=1.0, near=at)
    two, far = fit_beside_shadow(PIXELS, noisy, pixel=1.0, blur=BLUR, near=one)
    miss = (two.position - at)[two.ok]
    assert two.ok.mean() > 0.95
    # One step lies off by about the part of the light that the outer step holds, of the gap.
    assert np.median(one.position - at) > 0.3 * gap
    assert abs(np.median(miss)) < 0.1
    # The guesses about blur and gap hold it closer than its u says, never further.
    assert np.std(miss / two.u[two.ok]) < 1.15
    assert np.median(far) == pytest.approx(0.6, abs=0.01)
    assert np.median(two.noise) < 0.7 * np.median(one.noise)


def test_without_a_shadow_both_say_the_same() -> None:
    at = np.linspace(-0.5, 0.5, 9)
    rows = 0.2 + 0.4 * ndtr((PIXELS - at[:, None]) / BLUR)
    one = fit_step(PIXELS, rows, pixel=1.0)
    start = replace(one, position=one.position + 0.1)
    two, _ = fit_beside_shadow(PIXELS, rows, pixel=1.0, blur=BLUR, near=start)
    inside = two.ok
    miss = np.abs(two.position - at)[inside]
    assert (miss < np.maximum(2.0 * two.u[inside], 0.02)).all()
