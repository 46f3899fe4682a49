"""The page as one ASGI application: its routes, and how a refusal is answered."""

from __future__ import annotations

from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from scribe.web import pages
from scribe.web.guard import Door, Guard

HERE = Path(__file__).parent


def page_app(door: Door) -> Starlette:
    """The application behind its door."""
    routes: list[BaseRoute] = [
        Route("/", pages.jobs, methods=["GET"]),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Guard, door=door)])
