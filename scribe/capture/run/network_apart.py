"""Photos that no network holds: without a strip in common, or two of one name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from scribe.capture.run.photo_marks import PhotoMarks
from scribe.errors import ScribeError


def refuse_apart(photos: Sequence[PhotoMarks]) -> None:
    """Refuse photos of which some share no sheet with the others."""
    groups = _groups(photos)
    if len(groups) > 1:
        lost = min(groups, key=len)
        others = sorted(
            {s for group in groups if group is not lost for p in group for s in p.sheets}
        )
        own = sorted({s for photo in lost for s in photo.sheets})
        raise ScribeError(
            "photos-apart",
            what=f"no photo joins sheets {listed(own)} to sheets {listed(others)}",
            where=listed([photo.name for photo in lost]),
            do="take one more photo that shows a sheet of both sides",
        )


def _groups(photos: Sequence[PhotoMarks]) -> list[list[PhotoMarks]]:
    """Photos that hang together by their sheets, largest first."""
    groups: list[tuple[set[int], list[PhotoMarks]]] = []
    for photo in photos:
        sheets, members = set(photo.sheets), [photo]
        apart = []
        for other in groups:
            if other[0] & sheets:
                sheets, members = sheets | other[0], other[1] + members
            else:
                apart.append(other)
        groups = [*apart, (sheets, members)]
    return sorted((members for _, members in groups), key=len, reverse=True)


def refuse_same_names(photos: Sequence[PhotoMarks]) -> None:
    """Refuse photos of one name: nobody could tell which of them is meant."""
    name, count = Counter(photo.name for photo in photos).most_common(1)[0]
    if count > 1:
        raise ScribeError(
            "photo-given-twice",
            what=f"{count} of the photos have this name",
            where=name,
            do="give every photo once, and photos from different folders different names",
        )


def listed(things: Sequence[object]) -> str:
    """Things in a sentence: a, b and c."""
    words = [str(thing) for thing in things]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
