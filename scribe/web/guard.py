"""The door of the page: who may come in, from where, and what the browser may do with answers.

Everything but the door itself needs the secret, static files and 127.0.0.1 too: other people
and other programs on this machine, and every site the browser visits, can reach a local port.
The secret comes once in the address and then in a cookie that no script reads and no other
site sends along. A cookie knows no port, so a change also needs the page's own Origin.

What this does not do: plain http is readable for whoever listens in the same network.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterable
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEY = "key"
SAFE_METHODS = ("GET", "HEAD")

# No inline script or style, nothing from elsewhere, no frame around it.
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
# Files that were made or came from outside: looked at as pictures, with no rights at all.
FILE_POLICY = (
    "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; "
    "frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-embedder-policy": "require-corp",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
    "cache-control": "no-store",
}
_LOCKED = (
    "This page opens with its whole address only. Open it from the line that scribe serve "
    "printed, or scan the square code beside it again.\n"
)
_STRANGE_HOST = "This page answers to its own address only, not to this name.\n"
_FOREIGN = "This change came from another page and was not made.\n"


@dataclass(frozen=True)
class Door:
    """hosts: "name:port" under which the page is reached. secret: what opens it. cookie: name."""

    hosts: frozenset[str]
    secret: str
    cookie: str

    def opens(self, given: str) -> bool:
        """Whether that is the secret; takes equally long for every wrong one."""
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.secret.encode())


class Guard:
    """ASGI middleware around the whole page."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # nothing else is spoken here
            return
        answer = self._refusal(scope)
        await (answer or self.app)(scope, receive, _with_headers(send))

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self.door.hosts:  # a foreign name that leads here: DNS rebinding
            return PlainTextResponse(_STRANGE_HOST, 421)
        query = parse_qsl(scope["query_string"].decode("latin-1"), keep_blank_values=True)
        given = dict(query).get(KEY)
        if given is not None and scope["method"] == "GET":
            return self._enter(scope["path"], query, given)
        if not any(
            self.door.opens(value)
            for value in _cookies(headers.getlist("cookie"), self.door.cookie)
        ):
            return PlainTextResponse(_LOCKED, 403)
        if scope["method"] not in SAFE_METHODS and not _own(headers, host):
            return PlainTextResponse(_FOREIGN, 403)
        return None

    def _enter(self, path: str, query: list[tuple[str, str]], given: str) -> Response:
        """Take the secret out of the address and into the cookie."""
        if not self.door.opens(given):
            return PlainTextResponse(_LOCKED, 403)
        rest = urlencode([(name, value) for name, value in query if name != KEY])
        # One slash only: //elsewhere would lead to another host.
        target = "/" + path.lstrip("/") + (f"?{rest}" if rest else "")
        answer = RedirectResponse(target, 303)
        answer.set_cookie(
            self.door.cookie, self.door.secret, httponly=True, samesite="strict", path="/"
        )
        return answer


def _cookies(lines: Iterable[str], name: str) -> list[str]:
    found = []
    for line in lines:
        for part in line.split(";"):
            try:
                jar = SimpleCookie(part)
            except CookieError:
                continue
            found += [jar[name].value] if name in jar else []
    return found


def _own(headers: Headers, host: str) -> bool:
    """Whether a change comes from the page itself: its Origin, and what the browser says of it."""
    site = headers.get("sec-fetch-site", "same-origin")
    return headers.get("origin") == f"http://{host}" and site == "same-origin"


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending
