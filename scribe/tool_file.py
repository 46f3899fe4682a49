"""The fitter's own list of tools: TOML to `Tool`, in the order of preference.

[[tool]]
name = "jigsaw"
work = "saw"
radius = 10
kerf = 1.2
standoff = 1
"""

from __future__ import annotations

from pathlib import Path

from scribe.toml_file import read_toml
from scribe.toml_table import Table
from scribe.tools import WORKS, Tool


def read_tools(path: Path) -> tuple[Tool, ...]:
    """Read the list; one with neither a saw nor a finishing tool is refused."""
    top = read_toml(path)
    top.allow("tool")
    top.need("tool", "write [[tool]] with name and work, for each tool")
    tools = tuple(_tool(table) for table in top.tables("tool"))
    if {tool.work for tool in tools} != set(WORKS):
        raise top.refuse(
            "job-value",
            "tool",
            "a saw and a finishing tool are both needed",
            'give one tool work = "saw" and one work = "finish"',
        )
    return tools


def _tool(table: Table) -> Tool:
    table.allow("name", "work", "radius", "least", "most", "kerf", "standoff", "guided")
    table.need("name", 'write name = "jigsaw"')
    table.need("work", f"write work = one of {', '.join(WORKS)}")

    def length(key: str, usual: float) -> float:
        return table.length(key) if key in table else usual

    tool = Tool(
        name=table.text("name"),
        work=table.choice("work", WORKS),
        radius=length("radius", 0.0),
        least=length("least", 0.0),
        most=length("most", float("inf")),
        kerf=length("kerf", 0.0),
        standoff=length("standoff", 0.0),
        guided=table.flag("guided") if "guided" in table else False,
    )
    if tool.guided and tool.radius == 0.0:
        raise table.refuse(
            "job-value", "guided", "a bit has a radius", "write radius = half of its diameter"
        )
    if tool.least >= tool.most:
        raise table.refuse(
            "job-value", "most", "it must be more than least", "correct one of the two"
        )
    return tool
