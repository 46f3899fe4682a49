"""What a page asks of the routes to change a job."""

from __future__ import annotations

from typing import Any

from starlette.testclient import TestClient

JPEG = b"\xff\xd8\xff\xe0 not really a photo"


def change(page: TestClient, job: dict[str, Any], at: list[Any], to: Any) -> Any:
    return page.patch(
        f"/api/jobs/{job['id']}",
        json={"changes": [{"at": at, "to": to}]},
        headers={"if-match": f'"{job["version"]}"'},
    )


def turned(page: TestClient, job: dict[str, Any], way: str) -> Any:
    """undo or redo, looking at the job as it is now."""
    root = f"/api/jobs/{job['id']}"
    version = page.get(root).json()["version"]
    return page.post(f"{root}/{way}", headers={"if-match": f'"{version}"'})


def kind(answer: Any) -> str:
    return str(answer.json()["error"]["kind"])
