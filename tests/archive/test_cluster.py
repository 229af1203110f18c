"""An archive on a Dask cluster of two worker processes that the test starts."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tests.archive.real import PIECES, log_tree, logs, make_tree, rows
from voxlog.archive.cluster import run_on_cluster
from voxlog.archive.local import run_here
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
    cluster: Any, tmp_path: Path, own_cache: Path
) -> None:
    make_tree(tmp_path)
    here = log_tree(tmp_path, "here", partial(run_here, workers=2, cores=2), own_cache)
    killed: list[int] = []
    killer = threading.Thread(
        target=kill_a_worker, args=(cluster, tmp_path / "there/scratch", killed), daemon=True
    )
    killer.start()
    on_cluster = partial(run_on_cluster, scheduler=cluster.scheduler_address)
    there = log_tree(tmp_path, "there", on_cluster, own_cache)
    killer.join()
    assert killed
    assert (there.logged, there.runs) == (here.logged, here.runs) == (PIECES, PIECES)
    assert there.failed == here.failed
    assert "bad.wav: not audio" in there.failed[0]
    assert logs(tmp_path / "there") == logs(tmp_path / "here")
    assert rows(tmp_path / "there") == rows(tmp_path / "here")


@pytest.mark.slow
def test_after_an_interruption_the_rest_is_logged_and_nothing_twice(
    cluster: Any, tmp_path: Path, own_cache: Path
) -> None:
    make_tree(tmp_path)
    out = tmp_path / "out"
    command = [
        *(sys.executable, "-m", "voxlog", "archive", tmp_path / "tree", "--out", out),
        *("--sheet", tmp_path / "tiny.yaml", "--scheduler", cluster.scheduler_address),
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while not logs(out):
        assert process.poll() is None, process.communicate()
        time.sleep(0.02)
    process.send_signal(signal.SIGTERM)
    assert process.wait(60) == 130
    process.communicate()
    first = {path: path.stat().st_ino for path in out.glob("runs/*/events.jsonl")}
    assert 0 < len(first) < PIECES or not list(out.glob("events/*"))

    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=600)
    assert done.returncode == 2
    assert "bad.wav: not audio" in done.stderr
    assert f"{PIECES} runs in the table" in done.stdout
    assert {path: path.stat().st_ino for path in first} == first
    assert len(logs(out)) == PIECES

    log_tree(tmp_path, "here", partial(run_here, workers=2, cores=2), own_cache)
    assert logs(out) == logs(tmp_path / "here")
    assert rows(out) == rows(tmp_path / "here")


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "no such scheme://x", ""])
def test_a_scheduler_that_does_not_answer_is_told(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.archive.cluster.TIMEOUT", "1s")
    with pytest.raises(InputError, match="no Dask scheduler answers there"):
        list(run_on_cluster([], address))
