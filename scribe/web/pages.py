"""The screens: each a template with plain dicts."""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.templating import Jinja2Templates

TEMPLATES = Jinja2Templates(directory=Path(__file__).parent / "templates")


async def jobs(request: Request) -> Response:
    """The list of jobs."""
    return TEMPLATES.TemplateResponse(request, "jobs.html", {"place": "jobs", "jobs": []})
