"""The page without a server: its application behind its door, entered with the secret."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from scribe.web.app import Address, page_app
from scribe.web.guard import KEY, Door

HOST = "127.0.0.1:8137"
OWN = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin"}


@pytest.fixture
def page(tmp_path: Path) -> Iterator[TestClient]:
    door = Door(frozenset([HOST]), "secret", "scribe-8137")
    app = page_app(door, tmp_path / "jobs", Address("http://x/", lan=False))
    client = TestClient(app, f"http://{HOST}", headers=OWN)
    client.get("/", params={KEY: "secret"})
    yield client
    for begun in app.state.works._begun.values():
        if begun.process is not None:
            begun.process.kill()


@pytest.fixture
def job(page: TestClient) -> dict[str, Any]:
    content: dict[str, Any] = page.post("/api/jobs", json={"name": "Alcove, left"}).json()
    return content
