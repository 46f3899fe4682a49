"""A picture of a learnt lens: where marks covered the photos, what they miss by, how it bends.

A stand-alone SVG of two views of the photo's frame. Left: every mark of every photo as a
dot, with what the lens leaves it, drawn many times too long. Right: straight lines as this lens
draws them, their departure drawn larger where it is small.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_LONG = 420.0  # user units of the frame's longer side
_GAP, _TOP, _FOOT = 40.0, 46.0, 34.0
_ARROW = 24.0  # user units that the 95 % residual is drawn long
_BEND = 0.03  # of the frame, at least, that the strongest bend is drawn
_STYLE = (
    "text{font:15px sans-serif;fill:#1d1b18}.frame{fill:#fff;stroke:#1d1b18}"
    ".mark{fill:#2f6f8f}.miss{stroke:#a3341c;stroke-width:.8}"
    ".even{fill:none;stroke:#bdb5a6}.bent{fill:none;stroke:#1d1b18;stroke-width:1.6}"
)


def lens_plot(
    size: tuple[int, int],
    marks: Sequence[Array],
    residuals: Sequence[Array],
    grid: Array,
    bend: Array,
) -> bytes:
    """size: (width, height) px. marks, residuals: for each photo (N, 2) px.

    grid: (R, C, 2) px of a lens without distortion; bend: (R, C, 2) px by which this one
    departs from it there.
    """
    scale = _LONG / max(size)
    width, height = size[0] * scale, size[1] * scale
    right = width + _GAP
    total = (right + width + 20.0, height + _TOP + _FOOT)
    off = np.vstack(list(residuals))
    typical = float(np.quantile(np.hypot(*off.T), 0.95)) or 1.0
    exaggerated = _ARROW / typical
    largest = float(np.hypot(*bend.reshape(-1, 2).T).max()) or 1.0
    drawn = max(1.0, float(np.round(_BEND * max(size) / largest)))
    wide, tall = f"{total[0]:.0f}", f"{total[1]:.0f}"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {tall}"'
    below = f"95 % below {typical:.2f} px"
    frame = f'y="{_TOP:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
    body = [
        f'{head} width="{wide}" height="{tall}"><style>{_STYLE}</style>',
        f'<rect width="{wide}" height="{tall}" fill="#faf8f4"/>',
        f'<text x="10" y="20">marks of {len(marks)} photos; lines:</text>',
        f'<text x="10" y="38">what they miss by, {below}</text>',
        f'<text x="{right + 10:.0f}" y="20">straight lines</text>',
        f'<text x="{right + 10:.0f}" y="38">as the lens draws them</text>',
        *(f'<rect class="frame" x="{x:.1f}" {frame}' for x in (10.0, right + 10.0)),
    ]
    # A nested svg shows nothing outside of itself: a long line ends at the frame.
    body.append(f'<svg x="10.0" {frame[:-2]}>')
    for pixels, missed in zip(marks, residuals, strict=True):
        start = pixels * scale
        stop = start + missed * exaggerated
        body += [
            f'<line class="miss" x1="{a:.1f}" y1="{b:.1f}" x2="{c:.1f}" y2="{d:.1f}"/>'
            for (a, b), (c, d) in zip(start, stop, strict=True)
        ]
        body += [f'<circle class="mark" cx="{a:.1f}" cy="{b:.1f}" r="1.6"/>' for a, b in start]
    body.append("</svg>")
    at = np.array([right + 10.0, _TOP])
    for kind, net in (("even", grid), ("bent", grid + drawn * bend)):
        for line in [*net, *net.transpose(1, 0, 2)]:
            points = " ".join(f"{a:.1f},{b:.1f}" for a, b in line * scale + at)
            body.append(f'<polyline class="{kind}" points="{points}"/>')
    times = f", drawn {drawn:.0f} times as large" if drawn > 1.0 else ""
    body.append(
        f'<text x="{right + 10:.0f}" y="{total[1] - 10:.0f}">bend {largest:.1f} px at most{times}'
        "</text></svg>"
    )
    return "\n".join(body).encode("utf-8")
