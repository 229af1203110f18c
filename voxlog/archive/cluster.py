"""Run an archive's jobs on a Dask cluster: any that distributed's Client reaches.

The workers need voxlog installed, and the archive's and the recordings' folders at the same paths.
One thread a worker is best (dask worker --nthreads 1): a job keeps one core busy, and each process
has one model.
"""

from collections.abc import Iterator, Sequence
from importlib import import_module
from typing import Any
from uuid import uuid4

from voxlog.archive.job import Done, Job, log_one
from voxlog.errors import InputError

__all__ = ["run_on_cluster"]

TIMEOUT = "15s"
"""How long a scheduler may take to answer."""


def run_on_cluster(jobs: Sequence[Job], scheduler: str) -> Iterator[Done]:
    """Do all jobs; each as it ends, in no order.

    A job whose worker dies goes to another one; the cluster gives it up after some deaths (its own
    setting, distributed.scheduler.allowed-failures). InputError where there is no scheduler.
    """
    distributed = _dask()
    run = uuid4().hex
    with _connect(distributed, scheduler) as client:
        futures: dict[Any, Job] = {
            client.submit(log_one, job, key=f"voxlog-{job.key}-{run}", pure=False): job
            for job in jobs
        }
        for future in distributed.as_completed(list(futures), loop=client.loop):
            yield _done(future, futures[future])


def _done(future: Any, job: Job) -> Done:
    error = future.exception()
    if error is None:
        result: Done = future.result()
        return result
    return Done(job.key, f"{job.audio[0]}: its worker failed ({type(error).__name__})")


def _dask() -> Any:
    try:
        return import_module("distributed")
    except ImportError:
        raise InputError("--scheduler needs Dask; pip install '.[cluster]'") from None


def _connect(distributed: Any, scheduler: str) -> Any:
    try:
        return distributed.Client(scheduler, timeout=TIMEOUT, set_as_default=False)
    except (OSError, TimeoutError, ValueError, TypeError) as error:
        raise InputError(
            f"--scheduler {scheduler}: no Dask scheduler answers there ({error}); give its address"
            " as tcp://host:8786"
        ) from error
