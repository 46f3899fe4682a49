"""A page of HTML from a template: whole in itself, opened without a network."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment


def fill(template: str, **values: object) -> str:
    """The template of that name with these values, as text; markup in values is shown as text."""
    return _environment().get_template(template).render(**values)


@cache
def _environment() -> Environment:
    """Keeps the templates compiled: compiling one takes longer than filling it in."""
    from jinja2 import Environment, FileSystemLoader

    return Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
