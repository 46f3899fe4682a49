"""From the upload of a 12 MP photo to the outline on it: what a person at the wall waits.

`python -m tests.bench.page` starts `scribe serve` as it is, sends it photos as a browser would,
and times until the photo is judged and until its outline can be shown. Printed, never asserted.
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


def seconds(browser: Browser, job: str, photo: bytes, kind: str) -> tuple[float, float]:
    """From the upload's first byte until the photo is judged, and until its outline is there."""
    began = time.perf_counter()
    query = f"name=wall.jpg&outline=wall&of={kind}&height=6"
    browser.json("POST", f"/api/jobs/{job}/photos?{query}", photo)
    judged = 0.0
    while True:
        content = browser.json("GET", f"/api/jobs/{job}")
        if not judged and content["photos"] and content["photos"][-1]["judged"]:
            judged = time.perf_counter() - began
        if content["work"][-1]["state"] not in ("waiting", "running"):
            break
        time.sleep(_STEP)
    assert content["work"][-1]["state"] == "done", content["work"][-1]
    browser.json("GET", f"/api/jobs/{job}/outlines/wall/sight")
    return judged, time.perf_counter() - began


def main() -> None:
    """Print the times of the first upload after the start, and of later ones."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    for kind in ("gauge", "line", "edge"):
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
            times = [seconds(browser, job, content, kind) for _ in range(runs + 1)]
            server.terminate()
            server.wait()
        later = sorted(sight for _, sight in times[1:])
        judged = sorted(judged for judged, _ in times[1:])
        print(
            f"{kind:6} {len(content) / 1e6:.1f} MB   page ready {ready:.2f} s   first upload: "
            f"outline {times[0][1]:.2f} s   later: judged {judged[len(judged) // 2]:.2f} s, "
            f"outline {later[len(later) // 2]:.2f} s (worst {later[-1]:.2f})"
        )


if __name__ == "__main__":
    main()
