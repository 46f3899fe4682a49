"""The JSON routes: each reads what came, calls what does it, and answers with the job."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from scribe.errors import ScribeError
from scribe.web import intake, sights
from scribe.web.answers import job_json, sight_json
from scribe.web.changes import At, ConflictError, apply, changes_of, value_at
from scribe.web.checked_input import check_arguments, correction_of, json_body, tick_of, word
from scribe.web.job_folder import JobFolder
from scribe.web.jobs import Jobs
from scribe.web.take_in import take_in
from scribe.web.works import Works

_PULSE = 0.2  # s, between two looks at what workers say


def jobs_of(request: Request) -> Jobs:
    """The jobs of the page."""
    jobs: Jobs = request.app.state.jobs
    return jobs


def works_of(request: Request) -> Works:
    """The work of the page."""
    works: Works = request.app.state.works
    return works


def job_of(request: Request) -> JobFolder:
    """The job that an address names."""
    return jobs_of(request).open(request.path_params["job"])


def version_of(request: Request) -> str:
    """The version that a change was made on; without one nothing is changed."""
    given = request.headers.get("if-match", "").strip().removeprefix("W/").strip('"')
    if not given:
        raise ScribeError(
            "page-no-version",
            what="the change doesn't say which state of the job it was made on",
            where="If-Match",
            do="load the page again",
        )
    return given


def refuse_stale(request: Request, job: JobFolder, at: At = ()) -> None:
    """Refuse what was asked for while looking at something else; at: the place that it is about."""
    version = version_of(request)
    if version == job.version:
        return
    before = job.old(version) if at else None
    if before is None or value_at(before, at) != value_at(job.table(), at):
        raise ConflictError([])


def answer(request: Request, job: JobFolder, status: int = 200, **more: Any) -> Response:
    """The job, and its version."""
    content = job_json(job, works_of(request), **more)
    return JSONResponse(content, status, headers={"etag": f'"{content["version"]}"'})


async def list_jobs(request: Request) -> Response:
    """GET /api/jobs."""
    return JSONResponse({"jobs": await run_in_threadpool(jobs_of(request).listed)})


async def create(request: Request) -> Response:
    """POST /api/jobs."""
    body = await json_body(request)
    job = jobs_of(request).create(body.get("name", ""))
    return answer(request, job, 201)


async def show(request: Request) -> Response:
    """GET /api/jobs/ID."""
    return answer(request, job_of(request))


async def change(request: Request) -> Response:
    """PATCH /api/jobs/ID."""
    job, version = job_of(request), version_of(request)
    changes = changes_of(await json_body(request))
    merged = await run_in_threadpool(apply, job, changes, version)
    return answer(request, job, merged=merged)


async def turn(request: Request) -> Response:
    """POST /api/jobs/ID/undo and /redo."""
    job = job_of(request)
    with job.lock:
        refuse_stale(request, job)
        job.turn(-1 if request.url.path.endswith("undo") else 1)
    return answer(request, job)


async def remove(request: Request) -> Response:
    """POST /api/jobs/ID/remove."""
    jobs_of(request).remove(job_of(request))
    return Response(status_code=204)


async def printer(request: Request) -> Response:
    """POST /api/jobs/ID/printer."""
    job, body = job_of(request), await json_body(request)
    intake.keep_bars(job, word(body, "x"), word(body, "y"))
    return answer(request, job)


async def lens(request: Request) -> Response:
    """POST /api/jobs/ID/lens: the one that was learnt in another job."""
    job, body = job_of(request), await json_body(request)
    intake.take_lens(job, jobs_of(request).open(word(body, "from")))
    return answer(request, job)


async def photo(request: Request) -> Response:
    """POST /api/jobs/ID/photos."""
    job = job_of(request)
    data = await intake.body_of(request.stream())
    query = dict(request.query_params)
    name, outline = await run_in_threadpool(intake.take_photo, job, data, query)
    original = job.kept("photos.json")[name]["original"]
    arguments = {"photos": [name], "outline": outline}
    work = works_of(request).begin(job, "look", outline or original, arguments)
    content = {"photo": name, "work": work, "job": job_json(job, works_of(request))}
    return JSONResponse(content, 202, headers={"etag": f'"{job.version}"'})


async def photos_in(request: Request) -> Response:
    """POST /api/jobs/ID/take-in."""
    job = job_of(request)
    for outline, photos in (await run_in_threadpool(take_in, job)).items():
        works_of(request).begin(job, "look", outline, {"photos": photos, "outline": outline})
    return answer(request, job)


async def drop_photo(request: Request) -> Response:
    """DELETE /api/jobs/ID/photos/NAME."""
    job = job_of(request)
    intake.drop_photo(job, request.path_params["photo"])
    return answer(request, job)


async def sight(request: Request) -> Response:
    """GET /api/jobs/ID/outlines/NAME/sight."""
    found = sight_json(job_of(request), request.path_params["outline"])
    if found is None:
        raise ScribeError(
            "page-no-sight",
            what="this outline is not traced yet",
            where=request.path_params["outline"][:60],
            do="trace it first",
        )
    return JSONResponse(found)


async def correct(request: Request) -> Response:
    """POST /api/jobs/ID/outlines/NAME/corrections."""
    job, outline = job_of(request), request.path_params["outline"]
    if outline not in job.table().get("outline", {}):
        raise ScribeError(
            "page-no-outline",
            what="the job has no such outline",
            where=outline[:60],
            do="load the page again",
        )
    correction = correction_of(await json_body(request))
    refuse_stale(request, job, ("outline", outline))
    if correction["do"] == "forget":
        sights.forget(job, outline)
    elif correction["do"] in ("drag", "cut"):
        await run_in_threadpool(sights.correct, job, outline, correction)
    else:
        await run_in_threadpool(sights.restrict, job, outline, correction)
        work = works_of(request).begin(job, "trace", outline, {})
        return answer(request, job, started=work)
    return answer(request, job)


async def begin(request: Request) -> Response:
    """POST /api/jobs/ID/works."""
    job = job_of(request)
    do, of, arguments = check_arguments(job, await json_body(request))
    return JSONResponse({"work": works_of(request).begin(job, do, of, arguments)}, 202)


async def work(request: Request) -> Response:
    """GET and DELETE /api/jobs/ID/works/WORK."""
    job, works, ident = job_of(request), works_of(request), request.path_params["work"]
    if request.method == "DELETE":
        return JSONResponse({"work": await run_in_threadpool(works.stop, job, ident)})
    return JSONResponse({"work": works.one(job, ident)})


async def ticks(request: Request) -> Response:
    """GET and POST /api/jobs/ID/ticks."""
    job = job_of(request)
    if request.method == "GET":
        return JSONResponse({"ticks": job.kept("ticks.json", {})})
    piece, edge, station, done = tick_of(await json_body(request))

    def ticked(all_ticks: dict[str, Any]) -> dict[str, Any]:
        stations = set(all_ticks.get(piece, {}).get(edge, []))
        stations = stations | {station} if done else stations - {station}
        return all_ticks | {piece: all_ticks.get(piece, {}) | {edge: sorted(stations)}}

    return JSONResponse({"ticks": job.changed_kept("ticks.json", {}, ticked)})


async def events(request: Request) -> Response:
    """GET /api/jobs/ID/events: what workers say, and that the job changed."""
    return StreamingResponse(
        _events(request, job_of(request), works_of(request)), media_type="text/event-stream"
    )


async def _events(request: Request, job: JobFolder, works: Works) -> AsyncIterator[str]:
    told: dict[str, str] = {}
    version, first = job.version, True
    while not await request.is_disconnected():
        for each in await run_in_threadpool(works.of_job, job):
            content = json.dumps(each)
            if told.get(each["id"]) != content:
                yield f"event: work\ndata: {content}\n\n"
            told[each["id"]] = content
        if first or job.version != version:
            version = job.version
            yield f'event: job\ndata: {{"version": "{version}"}}\n\n'
        first = False
        await asyncio.sleep(_PULSE)
