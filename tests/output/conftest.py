"""The pieces all output tests draw."""

from __future__ import annotations

import pytest

from scribe.piece import Piece
from tests.output.pieces import pieces


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Piece]:
    return pieces(tmp_path_factory.mktemp("pieces"))


@pytest.fixture(
    scope="session", params=["long strip", "short strip", "notched panel", "trapped shelf"]
)
def piece(request: pytest.FixtureRequest, made: dict[str, Piece]) -> Piece:
    return made[request.param]
