"""Refusals a fitter understands: what is wrong, where, and what to do about it.

Exit statuses of every command: `DONE`, `REFUSED` (bad input: one sentence on standard
error), `WRONG_USE` (the command line itself was wrong).
"""

from __future__ import annotations

from collections.abc import Callable

DONE = 0
REFUSED = 1
WRONG_USE = 2


class ScribeError(Exception):
    """A refusal in three parts.

    what:  what is wrong, in words of the trade, without a closing full stop.
    where: the file, photo, key or piece it concerns.
    do:    what to do about it, as one instruction.
    kind:  the row of docs/errors.md this refusal belongs to, such as "photo-no-marks".
    """

    def __init__(self, kind: str, *, what: str, where: str, do: str) -> None:
        super().__init__(what)
        self.kind = kind
        self.what = what
        self.where = where
        self.do = do

    def __reduce__(self) -> tuple[Callable[..., ScribeError], tuple[str, str, str, str]]:
        """So that it can come back from another process."""
        return _again, (self.kind, self.what, self.where, self.do)

    def __str__(self) -> str:
        return f"{self.where}: {self.what}. {self.do[:1].upper()}{self.do[1:]}."


def _again(kind: str, what: str, where: str, do: str) -> ScribeError:
    return ScribeError(kind, what=what, where=where, do=do)
