"""Who may import what, as data: data flows down this list and never up.

The table in DEVELOPERS.md is this one in words; a test keeps them equal.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row of the house.

    name: of the row. modules: its modules and packages inside `scribe`.
    project: names of the rows it may import, its own row aside.
    own: whether its modules may import each other (across packages of the row).
    outside: libraries allowed beyond the standard library.
    lazily: rows that may be imported inside a function body only.
    only_in: libraries allowed in the named modules of the row alone.
    """

    name: str
    modules: tuple[str, ...]
    project: tuple[str, ...] = ()
    own: bool = True
    outside: tuple[str, ...] = ()
    lazily: tuple[str, ...] = ()
    only_in: tuple[tuple[str, tuple[str, ...]], ...] = ()


ROWS = (
    Row("base", ("errors", "places", "standards", "quantity", "files")),
    Row(
        "geom",
        ("geom",),
        project=("base",),
        outside=("numpy", "scipy"),
        only_in=(("shapely", ("geom.region",)),),
    ),
    Row(
        "nouns",
        (
            "datum",
            "facing",
            "outline",
            "outline_file",
            "budget",
            "target",
            "board",
            "target_file",
            "piece",
            "passage",
            "cut_check",
            "tools",
            "saw",
            "cutting",
            "materials",
            "member",
            "workshop",
            "workshop_moulding",
            "tool_file",
            "timber",
            "pipes",
            "print_scale",
            "camera_file",
            "tape",
            "source",
            "side_walls",
            "job",
            "job_file",
            "job_outline",
            "job_joint",
            "joint",
            "job_piece",
            "job_edge",
            "job_hole",
            "toml_table",
            "toml_file",
            "opening",
            "build_plan",
            "sizes",
            "room_survey",
            "room_survey_file",
            "room_covered",
        ),
        project=("base", "geom"),
        outside=("numpy",),
    ),
    Row(
        "verbs",
        ("capture", "shape", "fit", "output"),
        project=("base", "geom", "nouns"),
        own=False,
        outside=("numpy", "scipy"),
        only_in=(
            ("cv2", ("capture",)),
            ("skimage", ("capture",)),
            ("PIL", ("capture",)),
            ("pillow_heif", ("capture",)),
            ("svgwrite", ("output",)),
            ("reportlab", ("output",)),
            ("ezdxf", ("output", "capture.numbers.drawing_dxf")),
            ("svgelements", ("capture.numbers.drawing_svg",)),
            ("jinja2", ("output",)),
        ),
    ),
    Row(
        "recipes",
        ("recipes",),
        project=("base", "geom", "nouns", "verbs"),
        outside=("numpy",),
    ),
    Row(
        "commands",
        ("commands", "__main__"),
        project=("base",),
        lazily=("nouns", "recipes", "web"),
        outside=("click",),
    ),
    Row(
        "web",
        ("web",),
        project=("base",),
        lazily=("recipes",),
        outside=("starlette", "uvicorn", "segno", "tomlkit"),
    ),
)


def markdown() -> str:
    """The table as it stands in DEVELOPERS.md."""
    lines = [
        "| row | modules | may import from the project | outside libraries |",
        "|---|---|---|---|",
    ]
    for row in ROWS:
        project = [*row.project, *(f"{name} (inside the function body)" for name in row.lazily)]
        if not row.own:
            project.append("never each other")
        outside = [
            *row.outside,
            *(f"{lib} only in {', '.join(where)}" for lib, where in row.only_in),
        ]
        lines.append(
            f"| {row.name} | {', '.join(row.modules)} | {', '.join(project) or 'each other'} "
            f"| {'; '.join(outside) or 'standard library'} |"
        )
    return "\n".join(lines) + "\n"
