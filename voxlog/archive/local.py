"""Run an archive's jobs on this machine: a few processes, each with its own model."""

import multiprocessing
import signal
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace

from voxlog.archive.job import Done, Job, has_begun, log_one
from voxlog.speech.listen import thread_count

__all__ = ["ATTEMPTS", "run_here", "threads_each"]

ATTEMPTS = 2
"""How often a job that may have ended its process is tried alone before it is given up."""


def threads_each(cores: int, workers: int) -> int:
    """Threads of each worker, so that all together are as many as the cores, or one each."""
    return max(1, cores // workers)


def run_here(
    jobs: Sequence[Job], workers: int | None = None, cores: int | None = None
) -> Iterator[Done]:
    """Do all jobs; each as it ends, in no order.

    workers: processes at a time, one for each core unless said. cores: that this process may use.
    A process that dies (killed, out of memory) takes nothing with it: what it had begun is tried
    alone, the rest goes on. Leaving early ends the processes.
    """
    cores = cores or thread_count()
    workers = workers or cores
    jobs = [replace(job, threads=threads_each(cores, workers)) for job in jobs]
    while jobs:
        lost: list[Job] = []
        yield from _run_until_broken(jobs, workers, lost)
        for job in filter(has_begun, lost):
            yield _run_alone(job)
        jobs = [job for job in lost if not has_begun(job)]


def _run_until_broken(jobs: Sequence[Job], workers: int, lost: list[Job]) -> Iterator[Done]:
    pool = _pool(workers)
    try:
        futures: dict[Future[Done], Job] = {pool.submit(log_one, job): job for job in jobs}
        for future in as_completed(futures):
            try:
                yield future.result()
            except BrokenProcessPool:
                lost.append(futures[future])
    finally:
        _end(pool)


def _run_alone(job: Job) -> Done:
    for _ in range(ATTEMPTS):
        pool = _pool(1)
        try:
            return pool.submit(log_one, job).result()
        except BrokenProcessPool:
            continue
        finally:
            _end(pool)
    died = f"the process that logged it died {ATTEMPTS + 1} times; is memory short?"
    return Done(job.key, f"{job.audio[0]}: {died}")


def _pool(workers: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, context, initializer=_leave_stopping_to_the_parent)


def _leave_stopping_to_the_parent() -> None:
    """Ctrl-C reaches every process of a terminal; only one of them shall answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _end(pool: ProcessPoolExecutor) -> None:
    """Idle processes end at once; one that is at work, because we leave early, is ended."""
    children = multiprocessing.active_children()
    pool.shutdown(wait=False, cancel_futures=True)
    for child in children:
        child.terminate()
    for child in children:
        child.join()
