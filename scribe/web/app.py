"""The page as one ASGI application: its routes, and how a refusal is answered."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from scribe.errors import ScribeError
from scribe.web import api, files_out, pages
from scribe.web.answers import job_json
from scribe.web.changes import ConflictError
from scribe.web.guard import FILE_POLICY, Door, Guard
from scribe.web.jobs import Jobs
from scribe.web.refusals import error_json, status_of
from scribe.web.works import Works

STATIC = Path(__file__).parent / "static"
JOB = "/api/jobs/{job}"


@dataclass(frozen=True)
class Address:
    """Where another device finds the page. lan: whether one can."""

    url: str
    lan: bool


def page_app(door: Door, folder: Path, address: Address) -> Starlette:
    """The application behind its door, on a folder of jobs."""
    app = Starlette(
        routes=_routes(),
        middleware=[Middleware(Guard, door=door)],
        exception_handlers={
            ScribeError: _refused,
            ConflictError: _conflict,
            HTTPException: _http,
            Exception: _fault,
        },
    )
    app.state.jobs, app.state.works, app.state.address = Jobs(folder), Works(), address
    return app


def _routes() -> list[BaseRoute]:
    get, post = ["GET"], ["POST"]
    of_job = "/jobs/{job}"
    return [
        Route("/", pages.jobs, methods=get),
        Route(of_job, pages.first_place, methods=get),
        *(Route(f"{of_job}/{name}", pages.place, methods=get)
          for name in (*dict(pages.PLACES), pages.LENS)),
        Route("/sw.js", _worker_script, methods=get),
        Route("/target.pdf", files_out.target, methods=get),
        Route("/qr.svg", files_out.qr, methods=get),
        Route(f"{of_job}/picture", files_out.job_picture, methods=get),
        Route(f"{of_job}/photos/{{photo}}", files_out.photo, methods=get),
        Route(f"{of_job}/photos/{{photo}}/{{size}}", files_out.photo, methods=get),
        Route(f"{of_job}/lens.svg", files_out.lens, methods=get),
        Route(f"{of_job}/outlines/{{outline}}/overlay", files_out.overlay, methods=get),
        Route(f"{of_job}/pieces/{{number:int}}/drawing.svg", files_out.drawing, methods=get),
        Route(f"{of_job}/export", files_out.export, methods=get),
        Route("/api/jobs", api.list_jobs, methods=get),
        Route("/api/jobs", api.create, methods=post),
        Route("/api/import", files_out.bring_in, methods=post),
        Route(JOB, api.show, methods=get),
        Route(JOB, api.change, methods=["PATCH"]),
        Route(f"{JOB}/undo", api.turn, methods=post),
        Route(f"{JOB}/redo", api.turn, methods=post),
        Route(f"{JOB}/remove", api.remove, methods=post),
        Route(f"{JOB}/printer", api.printer, methods=post),
        Route(f"{JOB}/lens", api.lens, methods=post),
        Route(f"{JOB}/photos", api.photo, methods=post),
        Route(f"{JOB}/take-in", api.photos_in, methods=post),
        Route(f"{JOB}/photos/{{photo}}", api.drop_photo, methods=["DELETE"]),
        Route(f"{JOB}/outlines/{{outline}}/sight", api.sight, methods=get),
        Route(f"{JOB}/outlines/{{outline}}/corrections", api.correct, methods=post),
        Route(f"{JOB}/works", api.begin, methods=post),
        Route(f"{JOB}/works/{{work}}", api.work, methods=["GET", "DELETE"]),
        Route(f"{JOB}/events", api.events, methods=get),
        Route(f"{JOB}/ticks", api.ticks, methods=["GET", "POST"]),
        *(Route(f"{of_job}/{folder}/{{file}}", _made_in(folder), methods=get)
          for folder in ("made", "checked")),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]  # fmt: skip


def _made_in(folder: str) -> Callable[[Request], Awaitable[Response]]:
    async def made(request: Request) -> Response:
        request.path_params["folder"] = folder
        return await files_out.made(request)

    return made


async def _worker_script(_: Request) -> Response:
    """The service worker, allowed for the whole page."""
    allowed = {"service-worker-allowed": "/"}
    return FileResponse(STATIC / "sw.js", media_type="text/javascript", headers=allowed)


async def _refused(request: Request, refusal: Exception) -> Response:
    assert isinstance(refusal, ScribeError)
    root = request.app.state.jobs.root
    status, error = status_of(refusal), error_json(refusal, root)
    plain = request.url.path.startswith("/api/") or request.url.path.endswith(".svg")
    if plain or request.method != "GET":
        return JSONResponse({"error": error}, status)
    return pages.error_page(request, error, status)


async def _conflict(request: Request, conflict: Exception) -> Response:
    assert isinstance(conflict, ConflictError)
    job = job_json(api.job_of(request), api.works_of(request))
    error = {
        "kind": "page-changed-meanwhile",
        "what": "this was changed in another window meanwhile",
        "where": job["name"],
        "do": "say which of the two counts" if conflict.places else "look at it as it is now",
    }
    return JSONResponse(
        {"error": error | {"sentence": error["what"]}, "conflicts": conflict.places, "job": job},
        409,
    )


async def _fault(request: Request, fault: Exception) -> Response:
    """A fault of ours: said as one, with nothing of its inside; the terminal shows the rest.

    It is answered outside of the guard, so it brings the headers of files, which allow nothing.
    """
    error = {
        "kind": "page-fault",
        "what": f"a fault in scribe itself, not in what you gave it ({type(fault).__name__})",
        "where": request.url.path[:80],
        "do": "load the page again; what was saved before is whole. Please report it with what "
        "the terminal shows",
    }
    headers = {"content-security-policy": FILE_POLICY, "x-content-type-options": "nosniff"}
    if request.url.path.startswith("/api/"):
        content = {"error": error | {"sentence": f"{error['what']}. {error['do']}."}}
        return JSONResponse(content, 500, headers)
    return PlainTextResponse(f"{error['what']}: {error['do']}.\n", 500, headers)


async def _http(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, HTTPException)
    error = {
        "kind": "page-not-there",
        "what": "there is nothing at this address",
        "where": request.url.path[:80],
        "do": "begin at the list of jobs",
    }
    if request.url.path.startswith("/api/"):
        return JSONResponse({"error": error | {"sentence": error["what"]}}, fault.status_code)
    return pages.error_page(request, error, fault.status_code)
