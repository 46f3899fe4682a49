"""From the upload of a 12 MP photo to the outline on it: what a person at the wall waits.

`python -m tests.bench.page` starts `scribe serve` as it is, sends it photos as a browser would,
and times until its outline can be shown. It prints the table of docs/page.md; nothing is asserted.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

from tests.scenes.scene import make_scene

_STEP = 0.02  # s, between two looks


class Browser:
    """Speaks with the page as its scripts do."""

    def __init__(self, port: int, key: str) -> None:
        self.port, self.cookie = port, ""
        answer = self._ask("GET", f"/?key={key}")
        self.cookie = answer.getheader("set-cookie", "").split(";")[0]

    def json(self, method: str, path: str, body: bytes | None = None) -> dict[str, Any]:
        """The answer's content."""
        content: dict[str, Any] = json.loads(self._ask(method, path, body).read())
        return content

    def _ask(self, method: str, path: str, body: bytes | None = None) -> http.client.HTTPResponse:
        line = http.client.HTTPConnection("127.0.0.1", self.port)
        headers = {"Cookie": self.cookie, "Origin": f"http://127.0.0.1:{self.port}"}
        line.request(method, path, body, headers)
        return line.getresponse()


def seconds(browser: Browser, job: str, photo: bytes, kind: str) -> float:
    """From the upload's first byte until its outline can be shown."""
    began = time.perf_counter()
    query = f"name=wall.jpg&outline=wall&of={kind}&height=6"
    work = browser.json("POST", f"/api/jobs/{job}/photos?{query}", photo)["work"]
    while work["state"] in ("waiting", "running"):
        time.sleep(_STEP)
        work = browser.json("GET", f"/api/jobs/{job}/works/{work['id']}")["work"]
    assert work["state"] == "done", work
    browser.json("GET", f"/api/jobs/{job}/outlines/wall/sight")
    return time.perf_counter() - began


def timed(kind: str, runs: int) -> tuple[float, list[float]]:
    """Seconds until the page is ready, and of each upload until its outline is there."""
    with tempfile.TemporaryDirectory() as name:
        photo = make_scene(kind, 4, megapixels=12.0, shape="smooth", height=6.0)
        content = photo.write(Path(name)).read_bytes()
        began = time.perf_counter()
        server = subprocess.Popen(
            [sys.executable, "-m", "scribe", "serve", "--port", "0", "--no-browser",
             "--folder", f"{name}/jobs"],
            stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert server.stderr is not None
        found = None
        while found is None:
            found = re.search(r":(\d+)/\?key=(\S+)", server.stderr.readline())
        browser = Browser(int(found[1]), found[2])
        ready = time.perf_counter() - began
        job = browser.json("POST", "/api/jobs", b'{"name": "bench"}')["id"]
        traced = [seconds(browser, job, content, kind) for _ in range(runs + 1)]
        server.terminate()
        server.wait()
    return ready, traced


def main() -> None:
    """Print the table of docs/page.md, and how busy the machine was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5, help="uploads after the first")
    runs = parser.parse_args().runs
    print(
        "| what lies on the sheet | page ready | first upload after the start: outline "
        f"| later: outline, median | worst of {runs} |"
    )
    print("|---|---|---|---|---|")
    for kind in ("gauge", "line", "edge"):
        ready, (first, *later) = timed(kind, runs)
        figures = ready, first, median(later), max(later)
        print(f"| {kind} | {' | '.join(f'{each:.1f} s' for each in figures)} |")
    print(f"\nLoad {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores, its own included.")


if __name__ == "__main__":
    main()
