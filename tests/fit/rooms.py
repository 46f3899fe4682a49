"""Two rooms as they are solved: an alcove and a loft under a slope, every corner off true."""

from __future__ import annotations

import numpy as np

from scribe.opening import Opening

WIDTH, HEIGHT, DEPTH = 2400.0, 2380.0, 620.0
U = 0.6


def alcove(u: float = U) -> Opening:
    """Leaning, splayed walls, one of them bowed; floor and ceiling out of level."""
    known = np.full(24, u**2)
    known[[0, 10, 18, 21]] = 0.0
    known[[4, 9]] = (u / 2) ** 2
    return Opening(
        name="alcove",
        reference=(WIDTH, HEIGHT, DEPTH),
        left=(0.0, 6.0, 2.0, 9.0),
        right=(2400.0, 2391.0, 2396.0, 2388.0),
        floor=(0.0, 4.0, 1.0, 6.0),
        back=(620.0, 615.0, 624.0, 619.0),
        ceiling=((0.0, 2380.0, 2377.0), (2400.0, 2368.0, 2370.0)),
        covariance=np.diag(known),
        left_bow=3.0,
    )


def loft(u: float = U) -> Opening:
    """Level to 1800, then down to 1000 at the right wall."""
    known = np.full(27, u**2)
    known[[0, 4, 9, 10, 18, 21, 24]] = 0.0
    return Opening(
        name="loft",
        reference=(3000.0, 2400.0, 700.0),
        left=(0.0, 5.0, 1.0, 4.0),
        right=(3000.0, 3000.0, 2996.0, 2996.0),
        floor=(0.0, -3.0, 1.0, -2.0),
        back=(700.0, 700.0, 704.0, 704.0),
        ceiling=((0.0, 2400.0, 2402.0), (1800.0, 2395.0, 2399.0), (3000.0, 1000.0, 1004.0)),
        covariance=np.diag(known),
    )


def shaken(room: Opening, rng: np.random.Generator) -> Opening:
    """The room as another set of readings would have solved it."""
    return room.with_vector(rng.multivariate_normal(room.vector, room.covariance))
