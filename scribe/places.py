"""Where something can be given, in the words of whoever is told to give it.

A sentence of the measuring code can't know who reads it: it says `correct {height}`, and the
front end that prints it fills the placeholder with its own word: an option of the command line,
a key of the job file, a place on the page. Whole phrases stand where one front end says nothing,
and `{kind:gauge}` hands "gauge" on.

>>> said("correct {height}", COMMAND), said("correct {height}", PAGE)
('correct --height', 'correct the height at Photos')
>>> said("say so with {kind:gauge}", JOB)
'say so with of = "gauge" in the job file'
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from scribe.errors import ScribeError

Words = Mapping[str, str]

_LENS = "at The phone's lens (from Photos)"


def _key(name: str) -> str:
    return f"'{name}' in the job file"


def _always(words: str) -> tuple[str, str, str]:
    """What nobody is told but at the command line, whatever was asked for there."""
    return words, words, words


# placeholder: on the command line, in a job file, on the page.
_PLACES = {
    # what is traced
    "kind": (
        "--of {0}",
        'of = "{0}" in the job file',
        "'{0}' as what lies on the sheet, at Photos,",
    ),
    "height": ("--height", _key("height"), "the height at Photos"),
    "ends": ("--from X,Y --to X,Y", "'from' and 'to' in the job file", "Ends (at Outline)"),
    "near": ("--near FILE", _key("near"), "Other edge (at Outline)"),
    "ends or near": (
        "--from X,Y --to X,Y, or --near FILE",
        "'from' and 'to', or 'near', in the job file",
        "Ends or Other edge (at Outline)",
    ),
    "tape": (
        "--tape {0},{1},LENGTH",
        '[[tape]] with from = "{0}" and to = "{1}" in the job file',
        "at Photos, from cross {0} to cross {1}",
    ),
    "no tape": (
        "leave it out",
        "write into its [[tape]] the 'outline' along whose strips it was taken",
        "take it away at Photos",
    ),
    # the sheet it lies on
    "another sheet": (
        "another one with scribe target --copies",
        "another one with scribe target --copies",
        "another one at Print",
    ),
    "target": ("--target", _key("target"), _key("target")),
    "or a board": (
        "; for a board of other origin give --target FILE",
        f"; for a board of other origin give {_key('target')}",
        "",
    ),
    # how it was printed
    "bars": ("--bars X,Y", _key("bars"), "what they read at Print"),
    "print scale": ("--print-scale", _key("print_scale"), "what its check bars read at Print"),
    "scale by": ("--scale-by", _key("scale_by"), "the bank card at Photos"),
    "or by paper": (
        "; or, for a rough outline, let the paper tell it with --scale-by paper",
        '; or, for a rough outline, let the paper tell it with scale_by = "paper" in the job file',
        "",
    ),
    "the scale once": (
        "the scale once with scribe printer --card",
        "the scale once with scribe printer --card",
        "the check bars and type at Print what they read",
    ),
    # the lens
    "learn": ("with scribe camera", "with scribe camera", _LENS),
    "and name it": (" and give --camera", f" and give {_key('camera')}", ""),
    "or no lens": (", or leave --camera out", f", or leave out {_key('camera')}", ""),
    # a drawing, which the page only has from elsewhere
    "unit": ("--unit", _key("unit"), _key("unit")),
    # a piece, which only a job file has
    "station": ("write station = {0}", "write station = {0}", "type {0} at Start at (at Piece)"),
    "from": ("from = '{0}'", "from = '{0}'", _key("from")),
    "beyond": (
        "write beyond = {0}",
        "write beyond = {0}",
        "type {0} at Straight on past the ends (at Piece)",
    ),
    "placing": (
        "distance, opening or clearance",
        "distance, opening or clearance",
        "Clearance (at Piece)",
    ),
    "least width": (
        "distance, opening, minimum_width or maximum_width",
        "distance, opening, minimum_width or maximum_width",
        "Must stay visible (at Piece)",
    ),
    "most width": (
        "distance, opening or maximum_width",
        "distance, opening or maximum_width",
        _key("maximum_width"),
    ),
    # a check, which has no job file of its own
    "edge": ("with --edge", "with --edge", "at Check the cut"),
    "lay": ("--lay", "--lay", "what says how the piece lies"),
    "width": ("--width", "--width", "the widths at How the piece is known to lie"),
    "and its frame": (
        ", and with --lay piece that its points are in the frame of the piece",
        ", and with --lay piece that its points are in the frame of the piece",
        "",
    ),
    # files that are written
    "elsewhere": ("with -o", "with -o", "for the jobs"),
    "force": ("add --force", "add --force", "move it away"),
    "card": _always("--card PHOTO"),
    # starting the page
    "lan": _always("--lan"),
    "port": _always("--port"),
    "folder": _always("--folder"),
}
COMMAND, JOB, PAGE = ({name: row[k] for name, row in _PLACES.items()} for k in range(3))
CUT = {**PAGE, "height": "the height above the sheet"}  # a check on the page has its own field

PLACEHOLDER = re.compile(r"\{([a-z][a-z ]*)(?::([\w.,-]*))?\}")


def said(sentence: str, words: Words) -> str:
    """The sentence with its placeholders filled; braces that hold something else stay."""

    def fill(found: re.Match[str]) -> str:
        name, handed = found.groups(default="")
        return words[name].format(*handed.split(",")) if name in words else found[0]

    return PLACEHOLDER.sub(fill, sentence)


def asking_instead(sentence: str, names: Mapping[str, str]) -> str:
    """The sentence with other placeholders in place of those named.

    >>> asking_instead("say so with {ends}", {"ends": "near"})
    'say so with {near}'
    """

    def other(found: re.Match[str]) -> str:
        return f"{{{names[found[1]]}}}" if found[1] in names else found[0]

    return PLACEHOLDER.sub(other, sentence)


def read_at(sentence: str, place: str) -> str:
    """The page's sentence as it is read at a place of it: nobody is sent to where he is.

    >>> read_at("show it with Ends (at Outline)", "Outline")
    'show it with Ends'
    """
    return sentence.replace(f" (at {place})", "")


def told(refusal: ScribeError, words: Words) -> ScribeError:
    """The refusal in these words."""
    return ScribeError(
        refusal.kind,
        what=said(refusal.what, words),
        where=refusal.where,
        do=said(refusal.do, words),
    )


@contextmanager
def telling(words: Words) -> Iterator[None]:
    """Whatever is refused inside is told in these words."""
    try:
        yield
    except ScribeError as refusal:
        raise told(refusal, words) from refusal
