"""A small run to review, and a real server on it."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.review_page.made_up import make_run
from tests.review_page.server import Server, serving


@pytest.fixture
def run(tmp_path: Path) -> Path:
    return make_run(tmp_path / "run")


@pytest.fixture
def serve() -> Iterator[Callable[..., Server]]:
    """Starts `voxlog review` on a folder, as a process of its own, and ends it after the test."""
    started: list[Server] = []

    def start(folder: Path, reviewer: str = "C-12") -> Server:
        started.append(serving(folder, reviewer))
        return started[-1]

    yield start
    for server in started:
        server.end()
