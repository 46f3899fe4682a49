"""What browsers send, checked before anything is done with it."""

from __future__ import annotations

import json
import math
from typing import Any

from starlette.requests import Request

from scribe.quantity import parse_length
from scribe.web.intake import MOST_PHOTOS, body_of, newest, photo_path
from scribe.web.job_folder import JobFolder
from scribe.web.refusals import malformed

_MOST_JSON = 2**20
_EDGES = ("top", "bottom", "left", "right")
_MOST_PX = 100_000.0
_MOST_POINTS = 200
_MOST_CHECK_PHOTOS, _MOST_WIDTHS, _MOST_GAPS = 20, 10, 200
_MOST_TAPES = 10
_LONGEST_LENGTH = 40  # letters
_CHECK_LENGTHS = ("height", "filler", "shift", "turn")


async def json_body(request: Request) -> dict[str, Any]:
    """A JSON object."""
    data = await body_of(request.stream(), _MOST_JSON)
    try:
        body = json.loads(data or b"null")
    except (ValueError, RecursionError) as error:
        raise malformed("body") from error
    if not isinstance(body, dict):
        raise malformed("body")
    return body


def word(body: dict[str, Any], key: str, longest: int = 80) -> str:
    """A short text."""
    value = body.get(key)
    if not isinstance(value, str) or not 0 < len(value) <= longest or not value.isprintable():
        raise malformed(key)
    return value


def number(body: dict[str, Any], key: str, most: float) -> float:
    """A finite number between -most and most."""
    value = body.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise malformed(key)
    if not math.isfinite(value) or abs(value) > most:
        raise malformed(key)
    return float(value)


def tick_of(body: dict[str, Any]) -> tuple[str, str, float, bool]:
    """piece, edge, station, done."""
    edge, done = word(body, "edge"), body.get("done")
    if edge not in _EDGES or not isinstance(done, bool):
        raise malformed("edge")
    return word(body, "piece"), edge, round(number(body, "station", 1e5), 2), done


def correction_of(body: dict[str, Any]) -> dict[str, Any]:
    """A correction with nothing in it but what its kind has."""
    do = body.get("do")
    if do == "drag":
        shown, pair = number(body, "px_shown", 100.0), _pair(body)
        if shown <= 0 or pair["from_px"][2] != pair["to_px"][2]:
            raise malformed("px_shown")
        return {"do": do, **pair, "px_shown": shown}
    if do == "cut" and body.get("drop") in ("start", "end"):
        return {"do": do, "at_px": _point(body.get("at_px")), "drop": body["drop"]}
    if do == "ends":
        return {"do": do, **_pair(body)}
    points = body.get("points_px")
    if do == "near" and isinstance(points, list) and 2 <= len(points) <= _MOST_POINTS:
        return {"do": do, "points_px": [_point(each) for each in points]}
    if do == "forget":
        return {"do": do}
    raise malformed("do")


def _pair(body: dict[str, Any]) -> dict[str, list[float]]:
    return {key: _point(body.get(key)) for key in ("from_px", "to_px")}


def _point(value: Any) -> list[Any]:
    """x, y px, and which of the outline's photos they are of."""
    if not isinstance(value, list) or len(value) not in (2, 3):
        raise malformed("point")
    x, y, photo = [*value, 0][:3]
    if isinstance(photo, bool) or not isinstance(photo, int) or not 0 <= photo < MOST_PHOTOS:
        raise malformed("point")
    pair = {"x": x, "y": y}
    return [number(pair, "x", _MOST_PX), number(pair, "y", _MOST_PX), photo]


def check_arguments(job: JobFolder, body: dict[str, Any]) -> tuple[str, str, dict[str, Any]]:
    """What is to be done, of what, and with which arguments."""
    do = body.get("do")
    if do == "trace":
        outline = word(body, "outline")
        if outline not in job.table().get("outline", {}):
            raise malformed("outline")
        return "trace", outline, {}
    if do == "make":
        return "make", "", {"dxf": body.get("dxf") is True}
    if do == "camera":
        kept = job.kept("photos.json", {})
        lens = [name for name, photo in kept.items()
                if photo["for"] == "camera" and not photo.get("gone")]  # fmt: skip
        return "camera", "", {"photos": [photo_path(job, name).name for name in lens]}
    if do == "check":
        return "check", word(body, "piece"), _check_of(job, body)
    raise malformed("do")


def _check_of(job: JobFolder, body: dict[str, Any]) -> dict[str, Any]:
    """What is known of a cut: photos of it, or gaps felt at stations."""
    edge, lay = body.get("edge"), body.get("lay", "free")
    if edge is not None and edge not in _EDGES:
        raise malformed("edge")
    if lay not in ("free", "ends"):
        raise malformed("lay")
    photos = body.get("photos", [])
    if not isinstance(photos, list) or len(photos) > _MOST_CHECK_PHOTOS:
        raise malformed("photos")
    gaps = _pairs_mm(body, "gaps", _MOST_GAPS)
    given = {key: _mm(body[key], key) for key in _CHECK_LENGTHS if body.get(key) is not None}
    if bool(photos) == bool(gaps):
        raise malformed("photos")
    return {
        "piece": word(body, "piece"),
        "photos": [photo_path(job, str(each)).name for each in photos],
        "gaps": gaps,
        "edge": edge,
        "lay": lay,
        "widths": _pairs_mm(body, "widths", _MOST_WIDTHS),
        "tapes": _tapes(body),
        **given,
        **newest(job, "printer"),
        **newest(job, "camera"),
    }


def _pairs_mm(body: dict[str, Any], key: str, most: int) -> list[list[float]]:
    """Stations, and what was measured there."""
    pairs = body.get(key, [])
    if not isinstance(pairs, list) or len(pairs) > most:
        raise malformed(key)
    if not all(isinstance(pair, list) and len(pair) == 2 for pair in pairs):
        raise malformed(key)
    return [[_mm(each, key) for each in pair] for pair in pairs]


def _tapes(body: dict[str, Any]) -> list[list[str]]:
    """Readings of a tape in their parts: from, to, length, and perhaps U."""
    tapes = body.get("tapes", [])
    if not isinstance(tapes, list) or len(tapes) > _MOST_TAPES:
        raise malformed("tapes")
    for parts in tapes:
        if not isinstance(parts, list) or len(parts) not in (3, 4):
            raise malformed("tapes")
    return [[word({"tapes": part}, "tapes", _LONGEST_LENGTH) for part in parts] for parts in tapes]


def _mm(value: Any, where: str) -> float:
    """A length in mm as somebody typed it, which may carry its unit; 0 or more."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise malformed(where)
    if isinstance(value, str) and len(value) > _LONGEST_LENGTH:
        raise malformed(where)
    return parse_length(value if isinstance(value, str) else float(value), where=where)
