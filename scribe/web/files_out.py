"""Files that the page hands out: photos, what was made, drawings, whole jobs."""

from __future__ import annotations

import io
import re
import tempfile
from pathlib import Path
from typing import Literal

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from scribe.errors import ScribeError
from scribe.web import bundle, sights
from scribe.web.api import answer, job_of, jobs_of, works_of
from scribe.web.guard import FILE_POLICY
from scribe.web.inside import refuse_outside
from scribe.web.intake import bounded, photo_path
from scribe.web.job_folder import JobFolder, outline_folder
from scribe.web.worker import drawn

_SAFE = {"content-security-policy": FILE_POLICY}
_FILE = re.compile(r"[^/\\\x00]{1,160}")


async def target(request: Request) -> Response:
    """GET /target.pdf: the printable sheet."""
    query = request.query_params
    form, copies = query.get("form", "window"), query.get("copies", "1")
    forms: dict[str, Literal["window", "strip"]] = {"window": "window", "strip": "strip"}
    if form not in forms or not re.fullmatch(r"[1-9][0-9]?", copies):
        raise ScribeError(
            "page-target",
            what="there is no such sheet",
            where="form, copies",
            do="choose window or strip, and 1 to 99 sheets",
        )
    content = await run_in_threadpool(_target, query.get("paper", "A4"), forms[form], int(copies))
    named = {"content-disposition": 'inline; filename="target.pdf"'}
    return Response(content, media_type="application/pdf", headers=_SAFE | named)


def _target(paper: str, form: Literal["window", "strip"], copies: int) -> bytes:
    from scribe.recipes.target import make_target

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "target.pdf"
        make_target(paper, form, copies, path, force=True)
        return path.read_bytes()


async def qr(request: Request) -> Response:
    """GET /qr.svg: the page's address as a square code."""
    import segno

    out = io.BytesIO()
    segno.make_qr(request.app.state.address.url, error="m").save(out, kind="svg", border=2)
    return Response(out.getvalue(), media_type="image/svg+xml", headers=_SAFE)


async def job_picture(request: Request) -> Response:
    """GET /jobs/ID/picture."""
    found = sorted((job_of(request).own / "photos").glob("*-small.jpg"))
    return _file(found[0] if found else None)


async def photo(request: Request) -> Response:
    """GET /jobs/ID/photos/NAME, and /small and /shown of it."""
    job, name = job_of(request), request.path_params["photo"]
    path, size = photo_path(job, name), request.path_params.get("size")
    return _file(path if size is None else job.own / "photos" / f"{name}-{size}.jpg")


async def lens(request: Request) -> Response:
    """GET /jobs/ID/lens.svg: what was learnt of the lens, drawn."""
    job = job_of(request)
    learnt = job.kept("camera.json", {}).get("file", "")
    return _file(job.path / Path(learnt).with_suffix(".svg").name if learnt else None)


async def overlay(request: Request) -> Response:
    """GET /jobs/ID/outlines/NAME/overlay; ?n=1 for the second photo of a run, and so on."""
    job, outline = job_of(request), request.path_params["outline"]
    folder = job.path / "outlines" / outline_folder(outline)
    found = sorted(folder.glob("overlay*.png"), key=lambda path: (len(path.name), path.name))
    number = request.query_params.get("n", "0")
    wanted = int(number) if number.isascii() and number.isdigit() and len(number) < 4 else 0
    return _file(found[wanted] if wanted < len(found) else None)


async def made(request: Request) -> Response:
    """GET /jobs/ID/made/FILE and /checked/FILE; ?download to keep it."""
    name = request.path_params["file"]
    folder = job_of(request).path / request.path_params["folder"]
    known = _FILE.fullmatch(name) and not name.startswith(".")
    kept = "download" in request.query_params
    return _file(folder / name if known else None, name if kept else None)


async def drawing(request: Request) -> Response:
    """GET /jobs/ID/pieces/N/drawing.svg: the piece as job.toml has it now."""
    job, number = job_of(request), request.path_params["number"]
    traced = await run_in_threadpool(_traced_for, job, number)
    svg = await run_in_threadpool(works_of(request).call, drawn, job.toml, number, traced)
    return Response(svg, media_type="image/svg+xml", headers=_SAFE)


def _traced_for(job: JobFolder, number: int) -> dict[str, Path]:
    """The outlines that were traced before: name -> file; refuses where one is missing."""
    refuse_outside(job)
    table = job.table()
    if number >= len(table.get("piece", [])):
        raise _no_file()
    traced = {
        name: path
        for name in table.get("outline", {})
        if (path := sights.traced_file(job, name)) is not None
    }
    for edge in table["piece"][number].get("edge", []):
        outline = table.get("outline", {}).get(edge.get("outline"))
        if outline and "photo" in outline and edge["outline"] not in traced:
            raise ScribeError(
                "page-outline-old",
                what=f"the outline {edge['outline']} is not traced yet as the job has it now",
                where=edge["outline"],
                do="trace it at the place before this one",
            )
    return traced


async def export(request: Request) -> Response:
    """GET /jobs/ID/export: the whole job in one file."""
    job = job_of(request)
    path = await run_in_threadpool(bundle.packed, job, jobs_of(request).root)
    return FileResponse(
        path,
        headers=_SAFE,
        media_type="application/zip",
        filename=f"{job.id}.scribe-job.zip",
        background=BackgroundTask(path.unlink),
    )


async def bring_in(request: Request) -> Response:
    """POST /api/import: a job that was kept as a file."""
    root = jobs_of(request).root
    with tempfile.NamedTemporaryFile(dir=root, prefix=".came-") as kept:
        async for part in bounded(request.stream(), bundle.MOST_BYTES):
            kept.write(part)
        kept.flush()
        job = await run_in_threadpool(bundle.unpacked, jobs_of(request), Path(kept.name))
    return answer(request, job, 201)


def _file(path: Path | None, download: str | None = None) -> Response:
    if path is None or not path.is_file():
        raise _no_file()
    return FileResponse(path, headers=_SAFE, filename=download)


def _no_file() -> ScribeError:
    return ScribeError(
        "page-no-file",
        what="there is no such file",
        where="address",
        do="load the page again; what was made may have another name now",
    )
