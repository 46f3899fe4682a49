"""The server's sockets and addresses."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

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


@pytest.mark.skipif(sys.platform == "win32", reason="signals are POSIX's")
def test_ctrl_c_ends_the_page_cleanly(tmp_path: Path) -> None:
    """Status 0, one sentence, no traceback, and no process left that holds its pipes."""
    command = [sys.executable, "-m", "scribe", "serve", "--port", "0", "--no-browser"]
    page = subprocess.Popen(
        [*command, "--folder", str(tmp_path / "jobs")], stderr=subprocess.PIPE, text=True
    )
    assert page.stderr is not None
    while not (found := re.search(r"http://127\.0\.0\.1:\d+/", page.stderr.readline())):
        pass
    with pytest.raises(urllib.error.HTTPError) as locked:
        urllib.request.urlopen(found[0])
    locked.value.close()
    assert locked.value.code == 403
    page.send_signal(signal.SIGINT)
    _, said = page.communicate(timeout=30)
    assert page.returncode == 0
    assert said.endswith("The page is closed. All jobs are saved.\n")
    assert "Traceback" not in said
