"""Nobody without the secret gets anything, and nobody else's page changes anything."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from scribe.web.app import Address, page_app
from scribe.web.guard import KEY, Door

HOST = "127.0.0.1:8137"
SECRET = "a-fresh-secret"
OWN = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin"}


@pytest.fixture
def stranger(tmp_path: Path) -> TestClient:
    door = Door(frozenset([HOST]), SECRET, "scribe-8137")
    return TestClient(
        page_app(door, tmp_path, Address("", lan=False)), f"http://{HOST}", follow_redirects=False
    )


@pytest.fixture
def guest(stranger: TestClient) -> TestClient:
    answer = stranger.get("/", params={KEY: SECRET})
    assert answer.status_code == 303
    return stranger


@pytest.mark.parametrize("path", ["/", "/static/page.css", "/api/jobs", "/nothing"])
@pytest.mark.parametrize("key", [None, "", "wrong", SECRET[:-1], SECRET + "x", "\udcff"])
def test_without_the_secret_nothing_is_given(
    stranger: TestClient, path: str, key: str | None
) -> None:
    query = {} if key is None else {KEY: key.encode("utf-8", "surrogateescape")}
    answer = stranger.get(path, params=query)
    assert answer.status_code == 403
    assert "<" not in answer.text
    stranger.cookies.set("scribe-8137", "wrong")
    assert stranger.get(path).status_code == 403


def test_the_secret_moves_from_the_address_into_a_cookie(stranger: TestClient) -> None:
    answer = stranger.get("/static/page.css", params={KEY: SECRET, "x": "1"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/static/page.css?x=1"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "domain" not in cookie
    assert stranger.get("/static/page.css").status_code == 200


def test_the_secret_leads_nowhere_else(stranger: TestClient) -> None:
    """A path of two slashes would be read as another host."""
    answer = stranger.get(f"http://{HOST}//elsewhere.example/x", params={KEY: SECRET})
    assert answer.headers["location"] == "/elsewhere.example/x"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8137", "127.0.0.1", "127.0.0.1:80", f"x.{HOST}"]
)
def test_a_name_that_was_bent_to_this_machine_is_refused(guest: TestClient, host: str) -> None:
    """DNS rebinding: the browser believes that it talks to another site."""
    assert guest.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "changed",
    [
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},  # a cookie knows no port; the origin does
        {"origin": f"https://{HOST}"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
    ],
)
def test_a_change_from_another_page_is_refused(guest: TestClient, changed: dict[str, str]) -> None:
    assert guest.post("/api/jobs", headers=OWN | changed).status_code == 403
    assert guest.post("/api/jobs", headers={}).status_code == 403  # no Origin at all


def test_every_answer_carries_the_headers(guest: TestClient) -> None:
    for path in ("/", "/static/page.css", "/nothing"):
        headers = guest.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert headers["cross-origin-resource-policy"] == "same-origin"
