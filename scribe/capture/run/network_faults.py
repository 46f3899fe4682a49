"""A network that can be trusted: what contradicts it is found, named, left out, or refused.

- Photos by another lens or zoom than most: by what their files say, or by their own misfit.
- Photos that share no sheet with the others: nothing tells where they belong.
- A sheet that was moved between photos, a photo that disagrees: the one whose absence lets
  all others agree is at fault. It is left out when the rest still hangs together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scribe.capture.pose.lens_turn import stored_size
from scribe.capture.run.network import Network
from scribe.capture.run.network_apart import _groups, listed, refuse_apart, refuse_same_names
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.network_start import Alone, alone_of
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.errors import ScribeError

_BAD_TIMES, _BAD_PX = 2.0, 0.08  # of the usual group's rms, and px: beyond both a group is bad
_BAD_STEP = 4.0  # standard deviations of what paper and tape do from sheet to sheet
_OTHER_FOCAL = 0.06  # phones round the focal length in the file; its lenses lie further apart
_OWN_FOCAL = 0.02  # a focal length solved from a photo alone differs by more: another lens
_MOST_OUT = 0.34  # part of the photos that may be left out: beyond, who is right is open


@dataclass(frozen=True)
class Sound:
    """A network without contradictions, and a sentence about each thing left out.

    kept: for each of its photos the index among those that were given.
    """

    network: Network
    said: tuple[str, ...]
    kept: tuple[int, ...]


_Group = tuple[str, int]  # a photo's name and the number of a sheet in it


@dataclass(frozen=True)
class _Suspect:
    """A photo (its name) or a sheet (its number) that may be at fault."""

    photo: str | None
    sheet: int | None

    def __str__(self) -> str:
        return self.photo or f"sheet {self.sheet}"

    def without(self, photos: Sequence[PhotoMarks]) -> list[PhotoMarks]:
        """The photos without it."""
        if self.photo is not None:
            return [photo for photo in photos if photo.name != self.photo]
        rest = [
            replace(photo, seen=tuple(m for m in photo.seen if m.sheet != self.sheet))
            if self.sheet in photo.sheets
            else photo
            for photo in photos
        ]
        return [photo for photo in rest if photo.seen]


def sound_network(photos: Sequence[PhotoMarks], *, scale: ScalePrior) -> Sound:
    """Solve all photos together, without what contradicts the others; refuses what can't stand."""
    refuse_same_names(photos)
    used, said = _of_one_lens(photos)
    refuse_apart(used)
    alone = alone_of(used, scale)
    network = solve_network(used, scale=scale, before=alone)
    while bad := _bad_groups(network):
        suspects = _suspects(used, bad, scale, alone)
        rest = list(used)
        for suspect in suspects:
            rest = suspect.without(rest)
        if not suspects or len(_groups(rest)) != 1 or len(rest) < (1.0 - _MOST_OUT) * len(photos):
            raise _disagree(bad, used, scale)
        said.append(_words(suspects, used, network, scale))
        used = rest
        network = solve_network(used, scale=scale, before=alone)
    names = [photo.name for photo in photos]
    kept = tuple(names.index(photo.name) for photo in used)
    return Sound(network, tuple(said), kept)


def _of_one_lens(photos: Sequence[PhotoMarks]) -> tuple[list[PhotoMarks], list[str]]:
    """The photos that most agree with in size and focal length, and words about the others."""

    def alike(a: PhotoMarks, b: PhotoMarks) -> bool:
        ratio = a.prior.mean.f / b.prior.mean.f
        same = stored_size(a.size, a.orientation) == stored_size(b.size, b.orientation)
        return same and abs(ratio - 1.0) < _OTHER_FOCAL

    votes = [sum(alike(a, b) for b in photos) for a in photos]
    chosen = photos[int(np.argmax(votes))]
    used = [photo for photo in photos if alike(chosen, photo)]
    others = [photo for photo in photos if not alike(chosen, photo)]
    if len(others) > _MOST_OUT * len(photos):
        raise ScribeError(
            "photos-two-lenses",
            what="these photos are of another lens, zoom or size than the rest",
            where=listed([photo.name for photo in others]),
            do="take all photos of a run with the same lens at the same zoom",
        )
    return used, [
        f"{photo.name} was left out: it is of another lens, zoom or size than the others"
        f" ({photo.size[0]} x {photo.size[1]} px, focal length {photo.prior.mean.f:.0f} px)."
        for photo in others
    ]


def _bad_groups(network: Network) -> set[_Group]:
    """The groups that contradict the rest.

    Their marks miss their places by far more than is usual, or their sheet stands so far out of
    its neighbours' plane that a false place is likelier.
    """
    seen = network.seen
    relative = network.group_rms()
    usual = float(np.median(relative))
    bad = relative > max(_BAD_TIMES * usual, usual * _BAD_PX / network.noise_px)
    for pair, far in zip(network.known.neighbours, network.neighbour_misfit(), strict=True):
        if far > _BAD_STEP:
            together = [
                p
                for p in range(len(seen.photos))
                if set(pair) <= set(seen.sheet[seen.photo == p].tolist())
            ]
            bad |= np.isin(seen.photo, together) & np.isin(seen.sheet, pair)
    return {
        (seen.photos[seen.photo[k]].name, seen.numbers[seen.sheet[k]]) for k in np.flatnonzero(bad)
    }


def _suspects(
    photos: Sequence[PhotoMarks], bad: set[_Group], scale: ScalePrior, alone: Sequence[Alone]
) -> list[_Suspect]:
    """Every sheet or photo without which the others agree; none where two faults meet.

    Where photos overlap little several can be at fault. All of them are then in doubt: to take
    the wrong one for right would be a wrong place that looks right.
    """
    cluster = _cluster(bad)
    suspects = [_Suspect(None, sheet) for sheet in sorted({sheet for _, sheet in cluster})]
    suspects += [_Suspect(name, None) for name in sorted({name for name, _ in cluster})]
    cured = []
    for suspect in suspects:
        left: set[_Group] = set()
        for members in _groups(suspect.without(photos)):
            left |= _bad_groups(solve_network(members, scale=scale, before=alone))
        if not left & cluster and len(left) < len(bad):
            cured.append(suspect)
    return cured


def _cluster(bad: set[_Group]) -> set[_Group]:
    """The bad groups that hang together with the first of them by photo or by sheet."""
    cluster = {min(bad)}
    while True:
        names, sheets = {name for name, _ in cluster}, {sheet for _, sheet in cluster}
        more = {(name, sheet) for name, sheet in bad if name in names or sheet in sheets}
        if more == cluster:
            return cluster
        cluster = more


def _words(
    suspects: Sequence[_Suspect],
    photos: Sequence[PhotoMarks],
    network: Network,
    scale: ScalePrior,
) -> str:
    if len(suspects) > 1:
        both = [str(suspect) for suspect in suspects]
        return f"{listed(both)} contradict each other and were left out: one of them was moved."
    (one,) = suspects
    if one.sheet is not None:
        where = [photo.name for photo in photos if one.sheet in photo.sheets]
        return (
            f"Sheet {one.sheet} was left out: it was moved between the photos that show it, or is"
            f" there twice ({listed(where)})."
        )
    return _photo_words(next(p for p in photos if p.name == one.photo), network, scale)


def _photo_words(photo: PhotoMarks, network: Network, scale: ScalePrior) -> str:
    alone = solve_network([photo], scale=scale)
    own, shared = alone.rig.lens.f, network.rig.lens.f
    fits = alone.noise_px < max(2.0 * network.noise_px, _BAD_PX)
    if fits and abs(own / shared - 1.0) > _OWN_FOCAL:
        return (
            f"{photo.name} was left out: it was taken with another lens or zoom (focal length"
            f" {own:.0f} px, the others about {shared:.0f} px)."
        )
    return f"{photo.name} was left out: what it shows of the sheets disagrees with the others."


def _disagree(bad: set[_Group], photos: Sequence[PhotoMarks], scale: ScalePrior) -> ScribeError:
    sheets, names = sorted({sheet for _, sheet in bad}), {name for name, _ in bad}
    own = np.array([solve_network([photo], scale=scale).rig.lens.f for photo in photos])
    usual = float(np.median(own))
    far = np.flatnonzero(np.abs(own / usual - 1.0) > _OTHER_FOCAL)
    if len(far) == 1 and len(photos) > 2 and photos[far[0]].name in names:
        return ScribeError(
            "network-disagrees",
            what=f"it was taken with another lens or zoom (focal length {own[far[0]]:.0f} px, the"
            f" others about {usual:.0f} px), and without it they don't hang together",
            where=photos[far[0]].name,
            do="take that photo again with the lens and zoom of the others",
        )
    return ScribeError(
        "network-disagrees",
        what=f"these photos don't agree on where sheets {listed(sheets)} lie: something was"
        " moved, or a photo is of another lens",
        where=listed(sorted({name for name, _ in bad})),
        do="take these photos again without touching the strips between them, each photo showing"
        " two strips of the one before",
    )
