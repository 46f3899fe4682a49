"""The server's sockets and addresses."""

from __future__ import annotations

import socket

import pytest

from scribe.errors import ScribeError
from scribe.web import server


def test_a_taken_port_is_refused() -> None:
    with server.listening("127.0.0.1", 0) as taken:
        taken.listen()
        with pytest.raises(ScribeError) as refusal:
            server.listening("127.0.0.1", taken.getsockname()[1])
    assert refusal.value.kind == "serve-port"


class NoNetwork(socket.socket):
    """As on a machine without any network: there is no way out."""

    def connect(self, address: object) -> None:  # noqa: ARG002 - the socket's own signature
        raise OSError(101, "Network is unreachable")


def test_without_a_network_lan_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server.socket, "socket", NoNetwork)
    with pytest.raises(ScribeError) as refusal:
        server.lan_address()
    assert refusal.value.kind == "serve-no-network"
