"""The screens: each a template with plain dicts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.templating import Jinja2Templates

from scribe.web.answers import job_json
from scribe.web.api import job_of, jobs_of, works_of
from scribe.web.views import done_places, view_of

TEMPLATES = Jinja2Templates(directory=Path(__file__).parent / "templates")
PLACES = (("print", "Print"), ("photos", "Photos"), ("outline", "Outline"), ("piece", "Piece"),
          ("cut", "Cut"))  # fmt: skip

LENS = "lens"  # a screen beside the path: done once for each phone, from where photos are taken


async def jobs(request: Request) -> Response:
    """The list of jobs."""
    listed = await run_in_threadpool(jobs_of(request).listed)
    return TEMPLATES.TemplateResponse(
        request, "jobs.html", {"place": "jobs", "jobs": listed, "address": _address(request)}
    )


async def first_place(request: Request) -> Response:
    """The first place of a job that is not done."""
    job = job_of(request)
    done = done_places(job_json(job, works_of(request)))
    place = next((name for name, _ in PLACES if name not in done), "cut")
    return RedirectResponse(f"/jobs/{job.id}/{place}", 303)


async def place(request: Request) -> Response:
    """One of the five places of a job, or the lens."""
    folder, name = job_of(request), request.url.path.rsplit("/", 1)[-1]
    job = await run_in_threadpool(job_json, folder, works_of(request))
    done = done_places(job)
    content: dict[str, Any] = {
        "place": "photos" if name == LENS else name,
        "places": [
            {
                "name": each,
                "title": title,
                "href": f"/jobs/{folder.id}/{each}",
                "done": each in done,
            }
            for each, title in PLACES
        ],
        "job": job,
        "address": _address(request),
        "view": view_of(name, job, request.query_params, folder.path),
    }
    return TEMPLATES.TemplateResponse(request, f"{name}.html", content)


def error_page(request: Request, error: dict[str, str], status: int) -> Response:
    """A refusal, for people."""
    content = {"place": "error", "error": error, "status": status}
    return TEMPLATES.TemplateResponse(request, "error.html", content, status_code=status)


def _address(request: Request) -> dict[str, Any]:
    address = request.app.state.address
    return {"url": address.url, "lan": address.lan, "qr": "/qr.svg"}
