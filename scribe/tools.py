"""Tool: what a fitter cuts with, and what it can and can't do along a line.

The usual list is common practice, no source; a fitter's own comes from a file, see
`scribe.tool_file`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

# Beyond this a saw doesn't tilt (common practice, no source; some reach 47).
SAW_TILT_DEG = 45.0

Work = Literal["saw", "finish"]
WORKS: tuple[Work, ...] = get_args(Work)


@dataclass(frozen=True)
class Tool:
    """One tool, mm.

    work: "saw" parts the waste, standing off the line; "finish" goes to the line.
    radius: the tightest hollow that it follows; 0 for one that follows any.
    least, most: what it can take off in its pass. kerf: width of its cut, 0 for no kerf.
    standoff: how far a saw's cut stays off the line, for the finish to take. guided: a router
    whose bearing follows a template; in a hollow it leaves a fillet of its radius.
    """

    name: str
    work: Work
    radius: float = 0.0
    least: float = 0.0
    most: float = float("inf")
    kerf: float = 0.0
    standoff: float = 0.0
    guided: bool = False


# In the order of preference: the first that can do a stretch does it.
USUAL_TOOLS = (
    Tool("jigsaw", "saw", radius=10.0, least=2.0, kerf=1.2, standoff=1.0),
    Tool("fine hand saw", "saw", radius=500.0, least=1.5, kerf=0.8, standoff=0.5),
    Tool("plane", "finish", radius=5000.0, most=2.0),
    Tool("belt sander", "finish", radius=30.0, most=1.5),
    Tool("half-round file", "finish", radius=8.0, most=1.2),
)
