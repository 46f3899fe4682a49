"""What recipes say in the words of the command line, said in the words of the page.

A refusal or a piece of advice names an option where something can be given; here it names the
place where the same is typed or chosen. Jobs that came from elsewhere may have more in their
job file than the page shows: what it has no place for is a key of that file, named as the option.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_THERE = (
    (r"; for a board of other origin give --target FILE", ""),
    (r", and with --lay piece that its points are in the frame of the piece", ""),
    (r"; or, for a rough outline, let the paper tell it with --scale-by paper", ""),
    (r"leave out --lay piece, or measure two widths and give them with --width",
     "measure two widths and type them at How the piece is known to lie"),
    (r"with --from X,Y --to X,Y, or --near FILE", "with Ends or Other edge (at Outline)"),
    (r"with --from X,Y --to X,Y|with --from and --to",
     "with Ends (at Outline)"),
    (r"give --from and --to", "set both Ends (at Outline)"),
    (r"with --near", "with Other edge (at Outline)"),
    (r"give --of (\w+)", r"choose '\1' at Photos"),
    (r"give only --bars", "type only what they read, at Print"),
    (r"give --bars(?: X,Y)?", "type what they read at Print"),
    (r"\(--bars\)", "(at Print)"),
    (r"give it as --height", "type it as the height at Photos"),
    (r"(give|correct) --height", r"\1 the height at Photos"),
    (r" \(--height\)", ", at Photos"),
    (r"give it: --tape (\w+),(\w+),LENGTH", r"type it at Photos: from cross \1 to cross \2"),
    (r"learn the phone's lens once with scribe camera and give --camera",
     "let the phone's lens be learnt, once, from Photos"),
    (r"learn this one with scribe camera, or leave --camera out",
     "learn this one from Photos, at The phone's lens"),
    (r"with scribe camera", "from Photos, at The phone's lens"),
    (r"measure the scale once with scribe printer --card", "type at Print what its bars read"),
    (r"one with scribe target --copies", "one at Print"),
    (r"name the one to check with --edge", "choose the one to check"),
    (r"leave --([a-z-]+) out", r"leave '\1' out of the job file"),
    (r"--([a-z-]+)", r"'\1' in the job file"),
)  # fmt: skip
_KEPT = re.compile(r"\b\d{3}\.(?:jpg|heic|png|tif)\b")
RULES = [(re.compile(found), said) for found, said in _THERE]


def on_the_page(words: str) -> str:
    """The sentence as the page says it."""
    for found, said in RULES:
        words = found.sub(said, words)
    return words


def in_a_check(words: str) -> str:
    """The same in what is said of a check, which has a field of its own for the height.

    >>> in_a_check("correct the height at Photos")
    'correct the height above the sheet'
    """
    return words.replace("the height at Photos", "the height above the sheet")


def named(photos: Mapping[str, Any], words: str) -> str:
    """The words with photos called as they came, and not as they are kept.

    >>> named({"001.jpg": {"original": "IMG_7.jpg"}}, "nothing was traced in 001.jpg")
    'nothing was traced in IMG_7.jpg'
    """
    return _KEPT.sub(lambda found: str(photos.get(found[0], {}).get("original", found[0])), words)
