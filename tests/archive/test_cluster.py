"""An archive on a Dask cluster of two worker processes that the test starts."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tests.archive.conftest import Undisturbed
from tests.archive.real import PIECES, log_tree, logs, rows
from voxlog.archive.cluster import run_on_cluster
from voxlog.errors import InputError

pytestmark = pytest.mark.filterwarnings("default")  # Dask's own, of ports and closing


@pytest.fixture
def cluster() -> Iterator[Any]:
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as started:
        yield started


def wait_for(scratch: Path) -> None:
    """Until some worker listens to a recording."""
    while not list(scratch.glob("*/*.partial/audio")):
        time.sleep(0.02)


def kill_a_worker(cluster: Any, scratch: Path, killed: list[int]) -> None:
    wait_for(scratch)
    pid = next(iter(cluster.workers.values())).pid
    os.kill(pid, signal.SIGKILL)
    killed.append(pid)


@pytest.mark.slow
def test_a_killed_worker_and_a_bad_file_change_nothing(
    cluster: Any, undisturbed: Undisturbed, tmp_path: Path
) -> None:
    killed: list[int] = []
    killer = threading.Thread(
        target=kill_a_worker, args=(cluster, tmp_path / "scratch", killed), daemon=True
    )
    killer.start()
    on_cluster = partial(run_on_cluster, scheduler=cluster.scheduler_address)
    result = log_tree(undisturbed.folder, tmp_path, on_cluster)
    killer.join()
    assert killed
    assert result == replace(undisturbed.result, table=tmp_path / "events")
    assert logs(tmp_path) == logs(undisturbed.out)
    assert rows(tmp_path) == rows(undisturbed.out)


@pytest.mark.slow
def test_after_an_interruption_the_rest_is_logged_and_nothing_twice(
    cluster: Any, undisturbed: Undisturbed, tmp_path: Path, own_cache: Path
) -> None:
    tree, sheet = undisturbed.folder / "tree", undisturbed.folder / "tiny.yaml"
    command = [
        *(sys.executable, "-m", "voxlog", "archive", tree, "--out", tmp_path),
        *("--sheet", sheet, "--scheduler", cluster.scheduler_address),
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while not logs(tmp_path):
        assert process.poll() is None
        time.sleep(0.02)
    process.send_signal(signal.SIGTERM)
    process.communicate()
    assert process.returncode == 130
    first = {path: path.stat().st_ino for path in tmp_path.glob("runs/*/events.jsonl")}
    assert first
    assert not (tmp_path / "events").exists()

    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "bad.wav: not audio" in done.stderr
    assert f"{PIECES} runs in the table" in done.stdout
    assert {path: path.stat().st_ino for path in first} == first
    assert logs(tmp_path) == logs(undisturbed.out)
    assert rows(tmp_path) == rows(undisturbed.out)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "no such scheme://x", ""])
def test_a_scheduler_that_does_not_answer_is_told(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.archive.cluster.TIMEOUT", "1s")
    with pytest.raises(InputError, match="no Dask scheduler answers there"):
        list(run_on_cluster([], address))
