"""The ends of a gauge's pins against the truth, before the wall is worked out from them.

`python -m tests.honesty.tips --first 9800 --seeds 40` prints the line of docs/measuring.md, from
the gauges of `tests.honesty.scenes`; the print's scale and the height are told truly.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from scribe.capture.gauge.trace import trace_gauge
from scribe.errors import ScribeError
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.honesty.kept import kept
from tests.honesty.scenes import Array, make, true_scale


def judge(seed: int, folder: Path | None) -> Array | None:
    """(K,) mm by which the ends that were found lie off along their pins; None if refused."""
    scene = make("gauge", seed, 12.0)
    assert scene.tips is not None
    with kept(folder, f"gauge-{seed}-12", lambda: scene) as there:
        scale = true_scale(seed)
        source = PhotoSource((there.photo,), "gauge", height=there.height, print_scale=scale)
        try:
            (view,) = trace(source).views
        except ScribeError:
            return None
    found = trace_gauge(view).tips
    nearest = np.abs(found[:, :1] - scene.tips[:, 0]).argmin(axis=1)
    return np.abs(found[:, 1] - scene.tips[nearest, 1])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=9800)
    parser.add_argument("--seeds", type=int, default=40)
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(judge, seeds, [asked.keep] * len(seeds)))
    error = np.concatenate([each for each in results if each is not None])
    print(
        f"{len(error)} pins of {len(seeds)} gauges: rms {np.sqrt((error**2).mean()):.3f} mm,"
        f" 95 % {np.quantile(error, 0.95):.3f} mm, worst {error.max():.3f} mm"
    )


if __name__ == "__main__":
    main()
