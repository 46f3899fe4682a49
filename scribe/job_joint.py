"""Outlines of a job file that are laid end to end: `join` and `[[outline.NAME.joint]]`.

Whatever is wrong is refused with its file, line and key, as in the rest of the job file.
"""

from __future__ import annotations

from scribe.job import OutlineJob
from scribe.joint import BY, MARK_U95, Joint
from scribe.source import JoinSource
from scribe.toml_table import Table

_JOIN_KEYS = ("join", "joint")
# What belongs to each way of joining two outlines.
_OVERLAP_KEYS = ("by", "overlap", "mark", "u95")
_CORNER_KEYS = ("by", "angle", "diagonal", "u95", "angle_u95")
_CROSSING_KEYS = ("by", "reach")


def join_source(table: Table, shaping: tuple[str, ...]) -> JoinSource:
    """join = two or more outlines in order, with a [[outline.NAME.joint]] between each two.

    shaping: keys that may stand beside it, of how the whole is shaped.
    """
    table.allow(*_JOIN_KEYS, *shaping)
    names = table.texts("join")
    table.need("joint", f"write [[outline.NAME.joint]] with by = one of {', '.join(BY)}")
    joints = tuple(_joint(each) for each in table.tables("joint"))
    if len(names) < 2 or len(joints) != len(names) - 1:
        raise table.refuse(
            "job-value",
            "join",
            f"{len(names)} outlines need {max(len(names) - 1, 1)} joints, and there are "
            f"{len(joints)}",
            "name two outlines or more, and write one [[outline.NAME.joint]] between each two",
        )
    if len(set(names)) < len(names):
        raise table.refuse("job-value", "join", "an outline is named twice", "name each one once")
    return JoinSource(names, joints)


def _joint(table: Table) -> Joint:
    table.need("by", f"write by = one of {', '.join(BY)}: how the two hang together")
    by = table.choice("by", BY)
    if by == "overlap":
        table.allow(*_OVERLAP_KEYS)
        table.need("overlap", "write overlap = about how many mm of one stretch both show")
    else:
        table.allow(*(_CORNER_KEYS if by == "corner" else _CROSSING_KEYS))
    if "angle" in table and "diagonal" in table:
        raise table.refuse(
            "job-key", "diagonal", "angle and diagonal are both given", "keep the better one"
        )
    return Joint(
        by,
        overlap=table.length("overlap", zero=False) if "overlap" in table else 0.0,
        mark=table.point("mark") if "mark" in table else None,
        angle=table.number("angle", 0.0, 360.0) if "angle" in table else None,
        diagonal=_diagonal(table) if "diagonal" in table else None,
        reach=table.length("reach") if "reach" in table else 0.0,
        u95=table.length("u95", zero=False) if "u95" in table else MARK_U95,
        angle_u95=table.number("angle_u95", 0.0, 45.0) if "angle_u95" in table else None,
    )


def _diagonal(table: Table) -> tuple[float, float, float]:
    one, other, between = table.lengths("diagonal", 3)
    return one, other, between


def check_joined(outlines: Table, by_name: dict[str, OutlineJob]) -> None:
    """Refuse a join of what isn't there, or of outlines that are joined themselves."""
    single = [name for name, job in by_name.items() if not isinstance(job.source, JoinSource)]
    for name, job in by_name.items():
        if not isinstance(job.source, JoinSource):
            continue
        for piece in job.source.pieces:
            if piece not in single:
                raise outlines.table(name).refuse(
                    "job-value",
                    "join",
                    f"{piece!r} is no outline that can be joined",
                    f"name some of {', '.join(single)}; all pieces of an edge go into one join",
                )
