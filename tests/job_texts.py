"""Job files as texts, read from a folder."""

from __future__ import annotations

import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job

SHORT = """\
[outline.wall]
photo = "wall.jpg"
of = "gauge"
height = 6

[[piece]]
name = "scribe strip"
blank = { length = 600, width = "6 cm" }

[[piece.edge]]
outline = "wall"
edge = "top"
"""

LONG = """\
name = "harbour cottage"

[print]
paper = "A3"
margin = "1 cm"
overlap = 15

[outline.left]
photo = ["a.jpg", "wall.jpg"]
of = "line"
print_scale = [0.998, 1.001]
building = "left"
from = [10, "2 cm"]
to = [-5, 200]
washer = 12
smooth = 4
datum = "two points"
between = [[0, 0], [0, 900]]
end = "floor"

[outline.right]
file = "right.csv"
building = "right"
u95 = 0.4

[[piece]]
name = "shelf"
shape = [[0, 0], [0, 300], [900, 300], [900, 0], [0, 0]]
thickness = 22
up = "left"
step = 100

[[piece.edge]]
outline = "left"
edge = "left"
distance = 890
clearance = 1.5
station = -20
from = "bottom"

[[piece.edge]]
outline = "right"
edge = "right"
opening = 895
minimum_width = 250
beyond = "3 in"
"""


def read(folder, text):
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def refusal(folder, text):
    with pytest.raises(ScribeError) as caught:
        read(folder, text)
    return caught.value
