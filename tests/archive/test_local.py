"""An archive on this machine's processes."""

import multiprocessing
import os
import signal
import threading
import time
from functools import partial
from pathlib import Path

import pytest

from tests.archive.conftest import Undisturbed
from tests.archive.real import PIECES, log_tree, logs, rows
from voxlog.archive.local import run_here, threads_each


@pytest.mark.parametrize(
    ("cores", "workers", "threads"), [(2, 2, 1), (2, 1, 2), (8, 2, 4), (8, 3, 2), (2, 5, 1)]
)
def test_workers_do_not_ask_for_more_cores_than_there_are(
    cores: int, workers: int, threads: int
) -> None:
    assert threads_each(cores, workers) == threads


def kill_one(scratch: Path, killed: list[int]) -> None:
    """Kill one process that is at a job."""
    while not list(scratch.glob("*/*.partial/audio")):
        time.sleep(0.02)
    victim = multiprocessing.active_children()[0]
    assert victim.pid is not None
    os.kill(victim.pid, signal.SIGKILL)
    killed.append(victim.pid)


@pytest.mark.slow
def test_a_killed_process_changes_nothing(undisturbed: Undisturbed, tmp_path: Path) -> None:
    killed: list[int] = []
    killer = threading.Thread(target=kill_one, args=(tmp_path / "scratch", killed), daemon=True)
    killer.start()
    result = log_tree(undisturbed.folder, tmp_path, partial(run_here, workers=2, cores=2))
    killer.join()
    assert killed
    assert (result.logged, result.failed) == (PIECES, undisturbed.result.failed)
    assert logs(tmp_path) == logs(undisturbed.out)
    assert rows(tmp_path) == rows(undisturbed.out)
    assert not (tmp_path / "scratch").exists()
    assert multiprocessing.active_children() == []
