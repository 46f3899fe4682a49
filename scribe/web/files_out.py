"""Files that the page hands out: photos, what was made, drawings, whole jobs."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path, PurePosixPath
from typing import Literal

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from scribe.errors import ScribeError
from scribe.files import write_bytes
from scribe.web import sights
from scribe.web.api import answer, job_of, jobs_of
from scribe.web.guard import FILE_POLICY
from scribe.web.intake import body_of, photo_path
from scribe.web.job_folder import JobFolder, parsed
from scribe.web.worker import outline_folder

MOST_IMPORT = 400 * 2**20
_MOST_FILES = 2000
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
    import tempfile

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


async def overlay(request: Request) -> Response:
    """GET /jobs/ID/outlines/NAME/overlay."""
    job, outline = job_of(request), request.path_params["outline"]
    folder = job.path / "outlines" / outline_folder(outline)
    found = sorted(folder.glob("overlay*.png"))
    return _file(found[0] if found else None)


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
    svg = await run_in_threadpool(_drawing, job, number)
    return Response(svg, media_type="image/svg+xml", headers=_SAFE)


def _drawing(job: JobFolder, number: int) -> bytes:
    from scribe.recipes.page import drawing_svg

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
                where="outline",
                do="trace it at the place before this one",
            )
    return drawing_svg(job.toml, number, traced)


async def export(request: Request) -> Response:
    """GET /jobs/ID/export: the whole job in one file."""
    job = job_of(request)
    content = await run_in_threadpool(_zipped, job)
    named = {"content-disposition": f'attachment; filename="{job.id}.scribe-job.zip"'}
    return Response(content, media_type="application/zip", headers=_SAFE | named)


def _zipped(job: JobFolder) -> bytes:
    out = io.BytesIO()
    with job.lock, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for path in sorted(job.path.rglob("*")):
            inside = path.relative_to(job.path)
            if path.is_file() and inside.parts[:2] != (".page", "work"):
                archive.write(path, inside.as_posix())
    return out.getvalue()


async def bring_in(request: Request) -> Response:
    """POST /api/import: a job that was kept as a file."""
    data = await body_of(request.stream(), MOST_IMPORT)
    job = await run_in_threadpool(_unzipped, request, data)
    return answer(request, job, 201)


def _unzipped(request: Request, data: bytes) -> JobFolder:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > _MOST_FILES or sum(e.file_size for e in entries) > 2 * MOST_IMPORT:
                raise _not_a_job("it holds more than a job can")
            inside = {e.filename: archive.read(e) for e in entries if _within(e.filename)}
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError) as error:
        raise _not_a_job("it can't be read") from error
    if "job.toml" not in inside:
        raise _not_a_job("there is no job.toml in it")
    table = parsed(inside["job.toml"], Path("job.toml"))
    job = jobs_of(request).create(str(table.get("name", "job"))[:80])
    for name, content in inside.items():
        path = job.path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(path, content)
    return job


def _within(name: str) -> bool:
    """A plain file inside the job's folder; nothing that climbs out of it."""
    path = PurePosixPath(name)
    plain = all(re.fullmatch(r"[^\\:\x00-\x1f]{1,160}", part) for part in path.parts)
    return not path.is_absolute() and ".." not in path.parts and plain and not name.endswith("/")


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


def _not_a_job(what: str) -> ScribeError:
    return ScribeError(
        "page-import",
        what=f"this file is no job: {what}",
        where="import",
        do="choose the file that the page gave out when the job was kept",
    )
