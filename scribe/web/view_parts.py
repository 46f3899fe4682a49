"""What several screens are told alike: what runs, what was refused, which outlines have photos."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

View = dict[str, Any]

NO_WORK: View = {"work": [], "refused": [], "ended": ""}


def work_of(job: View, mine: Callable[[View], bool]) -> View:
    """What runs for this screen, and what the last run of it refused."""
    ours = [work for work in job["work"] if mine(work)]
    last = ours[-1:] if ours and ours[-1]["state"] == "refused" else []
    return {
        "work": [work for work in ours if work["state"] in ("waiting", "running")],
        "refused": [work["error"] for work in last if work["error"]],
        "ended": ours[-1]["state"] if ours and ours[-1]["state"] in ("stopped", "lost") else "",
    }


def photographs(table: View, state: View) -> bool:
    """Whether an outline is traced from photos, and not read from a file."""
    return "photo" in table or bool(state.get("traced"))


def photographed(job: View) -> list[str]:
    """Names of the outlines that have photos."""
    return [name for name, each in job["toml"].get("outline", {}).items() if "photo" in each]


def one_of(asked: str, names: list[str]) -> str:
    """The one that is asked for; the first where that makes no sense."""
    return asked if asked in names else names[0]


def listed(value: Any) -> list[str]:
    """One value or a list of them, as a list."""
    return value if isinstance(value, list) else [value] if value else []
