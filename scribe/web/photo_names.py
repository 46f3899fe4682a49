"""Photos called as they came from the phone, and not as they are kept."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_KEPT = re.compile(r"\b\d{3}\.(?:jpg|heic|png|tif)\b")


def named(photos: Mapping[str, Any], words: str) -> str:
    """The words with photos called as they came.

    >>> named({"001.jpg": {"original": "IMG_7.jpg"}}, "nothing was traced in 001.jpg")
    'nothing was traced in IMG_7.jpg'
    """
    return _KEPT.sub(lambda found: str(photos.get(found[0], {}).get("original", found[0])), words)
