"""Start the page: sockets, secret, addresses, and a clean end."""

from __future__ import annotations

import secrets
import socket
import sys
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from scribe.errors import ScribeError

LOCAL = "127.0.0.1"
# RFC 5737 keeps this network for documents: asking the way there sends nothing, and names
# the address that this machine has in its own network.
_NOWHERE = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Wanted:
    """folder: of the jobs. port: 0 takes any free one. lan: for the same network too."""

    folder: Path
    port: int
    lan: bool
    browser: bool


def lan_address() -> str:
    """The address of this machine in its network; refuses where there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            found = LOCAL
    if found.startswith("127.") or found == "0.0.0.0":  # noqa: S104 - compared, not bound
        raise ScribeError(
            "serve-no-network",
            what="this machine is in no network that a phone could share",
            where="this machine",
            do="join a network or open a hotspot, or leave {lan} out and use this machine itself",
        )
    return found


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens there."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":  # there the option would let two programs share a port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen()  # who comes before the page is ready waits instead of being refused
    except OSError as error:
        listener.close()
        raise ScribeError(
            "serve-port",
            what=f"the page can't listen there ({error.strerror})",
            where=f"{host}:{port}",
            do="close the other program that does, or choose another {port}",
        ) from error
    return listener


def serve(wanted: Wanted, say: Callable[[str], None]) -> None:
    """Serve the page until it is stopped with Ctrl-C."""
    from scribe.web.held_folder import alone, swept

    with alone(wanted.folder) as at_port, listening(LOCAL, wanted.port) as here:
        at_port(here.getsockname()[1])
        swept(wanted.folder)
        _served(wanted, here, say)
    say("The page is closed. All jobs are saved.")


def _served(wanted: Wanted, here: socket.socket, say: Callable[[str], None]) -> None:
    import uvicorn

    from scribe.web.app import Address, page_app
    from scribe.web.guard import KEY, Door

    secret = secrets.token_urlsafe(24)
    sockets, port = [here], here.getsockname()[1]
    hosts = [f"{LOCAL}:{port}", f"localhost:{port}"]
    address = f"http://{LOCAL}:{port}/?{KEY}={secret}"
    phone = ""
    if wanted.lan:
        name = lan_address()
        sockets.append(listening(name, port))
        hosts.append(f"{name}:{port}")
        phone = f"http://{name}:{port}/?{KEY}={secret}"
        say(square_code(phone))
        say(f"Phone in the same network: {phone}")
        say("Plain http: whoever listens in that network reads along. Use one that you trust.")
    say(f"This machine: {address}")
    say("Stop with Ctrl-C.")
    address_shown = Address(phone if wanted.lan else address, wanted.lan)
    app = page_app(Door(frozenset(hosts), secret, f"scribe-{port}"), wanted.folder, address_shown)
    app.state.works.warm()
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, proxy_headers=False,
        ws="none", timeout_graceful_shutdown=2,
    )  # fmt: skip
    if wanted.browser:
        webbrowser.open(address)
    try:
        uvicorn.Server(config).run(sockets=sockets)
    except KeyboardInterrupt:  # uvicorn has ended cleanly, and passes on why
        pass
    finally:
        app.state.works.close()


def square_code(address: str) -> str:
    """The address as a QR code of text, for the terminal."""
    import io

    import segno

    out = io.StringIO()
    segno.make_qr(address, error="l").terminal(out, compact=True)
    return out.getvalue()
