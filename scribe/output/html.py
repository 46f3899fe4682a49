"""A page of HTML from a template: whole in itself, opened without a network."""

from __future__ import annotations

from pathlib import Path


def fill(template: str, **values: object) -> str:
    """The template of that name with these values, as text; markup in values is shown as text."""
    from jinja2 import Environment, FileSystemLoader

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(template).render(**values)
