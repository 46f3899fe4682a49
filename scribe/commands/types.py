"""Option types shared by the commands: typed text to mm; nonsense there is wrong use."""

from __future__ import annotations

from collections.abc import Callable

import click

from scribe import quantity
from scribe.errors import ScribeError


class Quantity(click.ParamType):  # type: ignore[type-arg]  # generic only in newer releases
    """An option read by one of the parsers of `scribe.quantity`."""

    def __init__(self, name: str, parse: Callable[[str], object]) -> None:
        self.name = name
        self.parse = parse

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        """The value in mm (or as factors); text that can't be read is wrong use."""
        if not isinstance(value, str):
            return value  # a default, given in mm
        try:
            return self.parse(value)
        except ScribeError as refusal:
            self.fail(f"{refusal.what}; {refusal.do}.", param, ctx)


LENGTH = Quantity("mm", quantity.parse_length)
SIGNED_LENGTH = Quantity("mm", lambda text: quantity.parse_length(text, negative=True))
SCALE = Quantity("x[,y]", quantity.parse_scale)
POINT = Quantity("x,y", quantity.parse_point)
LENGTHS = Quantity("mm,mm,mm", lambda text: tuple(map(quantity.parse_length, text.split(","))))
BARS = Quantity("x,y", lambda text: quantity.parse_point(text, where="bars"))


def _tape(typed: str) -> object:
    from scribe.tape import parse_tape

    return parse_tape(typed)


TAPE = Quantity("from,to,mm[,U]", _tape)
