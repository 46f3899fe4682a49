"""The server's sockets and addresses."""

from __future__ import annotations

import os
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
from scribe.web.held_folder import alone, swept


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


def test_a_folder_has_one_page(tmp_path: Path) -> None:
    with alone(tmp_path / "jobs") as at_port:
        at_port(8137)
        with (
            pytest.raises(ScribeError, match="at port 8137") as refusal,
            alone(tmp_path / "jobs"),
        ):
            pass
        assert refusal.value.kind == "serve-folder-taken"
    with alone(tmp_path / "jobs"):
        pass


def test_a_killed_page_leaves_no_lock_and_what_it_left_is_swept(tmp_path: Path) -> None:
    """What was on its way in goes; a job's files, and what is being written now, stay."""
    hold = (
        "import sys, time; from pathlib import Path; from scribe.web.held_folder import alone\n"
        "with alone(Path(sys.argv[1])):\n    print('held', flush=True); time.sleep(60)\n"
    )
    command = [sys.executable, "-c", hold, str(tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as page:
        assert page.stdout is not None
        assert page.stdout.readline() == "held\n"
        with pytest.raises(ScribeError), alone(tmp_path):
            pass
        page.kill()
    job = tmp_path / "alcove"
    (job / "made").mkdir(parents=True)
    (tmp_path / ".in-abc").mkdir()
    stay = [job / "job.toml", job / ".gitignore", job / ".photo.jpg.new4now_"]
    go = [tmp_path / ".came-x1", tmp_path / ".in-abc/job.toml", job / ".job.toml.k2_wz9ab",
          job / "made/.scribe-ab12cd34"]  # fmt: skip
    for path in (*stay, *go):
        path.touch()
    for path in go[2:]:
        os.utime(path, (1e9, 1e9))
    with alone(tmp_path):
        swept(tmp_path)
    assert all(path.exists() for path in stay)
    assert not any(path.exists() for path in go)
