"""The report of a room's survey: one HTML page that opens without a network.

In: words, and sections of HTML that others drew. The page's colours and classes are those of the
job's report.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from scribe.output.cautions import CAUTIONS


@dataclass(frozen=True)
class Row:
    """A reading as the table shows it: what was read, what it's off by, what would be noticed."""

    name: str
    reads: str
    too_much: str
    smallest: str


def survey_html(
    title: str,
    features: Sequence[tuple[str, str]],
    readings: Sequence[Row],
    left_out: Sequence[str],
    sections: Sequence[str],
) -> str:
    """features: (name, words). sections: HTML set between the opening and its readings."""
    from jinja2 import Environment, FileSystemLoader

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("survey.html").render(
        title=title,
        features=features,
        readings=readings,
        left_out=left_out,
        sections=sections,
        cautions=CAUTIONS,
    )
