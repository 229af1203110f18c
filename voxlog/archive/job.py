"""Log one recording of an archive, in a process of its own. What is done here is done on workers.

A run folder is made in a scratch folder of its own and renamed into its place, which only one can
be. So a recording that two workers were given, because one of them seemed dead, is in the archive
once all the same.
"""

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple
from uuid import uuid4

from voxlog.errors import InputError
from voxlog.log.disk import sync_directory
from voxlog.log.people import People
from voxlog.pipeline import LogRequest, log_recording
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model

__all__ = ["Done", "Job", "has_begun", "log_one"]


@dataclass(frozen=True, slots=True)
class Job:
    """A recording to be logged. Paths are absolute, and the same on every worker.

    key: what it is made of, as a digest. audio: its files. place: the run folder to be made.
    scratch: folder for what is not finished. positions: 0-based channel to position. threads: how
    many cores it may use.
    """

    key: str
    audio: tuple[Path, ...]
    sheet: Path
    place: Path
    scratch: Path
    model: str
    cache: Path
    start: datetime | None = None
    positions: Mapping[int, str] = field(default_factory=dict)
    people: People = field(default_factory=People)
    threads: int = 1


class Done(NamedTuple):
    """What came of a job. error: one line; empty where its run folder is in its place."""

    key: str
    error: str = ""


def log_one(job: Job) -> Done:
    """Log a recording; never raises: one bad file must not stop an archive."""
    scratch = job.scratch / f"{job.key}-{uuid4().hex}"
    try:
        scratch.mkdir(parents=True)
        _log(job, scratch / job.place.name)
    except InputError as error:
        return Done(job.key, str(error))
    except Exception as error:  # noqa: BLE001  # listed at the end, with the other bad files
        return Done(job.key, f"{job.audio[0]}: {type(error).__name__}: {error}")
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    return Done(job.key)


def has_begun(job: Job) -> bool:
    """Whether some process began the job and did not come to its end."""
    return any(job.scratch.glob(f"{job.key}-*"))


def _log(job: Job, out: Path) -> None:
    request = LogRequest(
        audio=job.audio,
        sheet=job.sheet,
        out=out,
        model=job.model,
        cache=job.cache,
        start=job.start,
        positions=job.positions,
        people=job.people,
    )
    log_recording(request, lambda _at, _of: None, _model(job.model, job.cache, job.threads))
    job.place.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.rename(out, job.place)
    except OSError:
        if not job.place.is_dir():
            raise
        return  # another worker was given the same job, and was quicker
    sync_directory(job.place.parent)


@lru_cache(maxsize=1)
def _model(name: str, cache: Path, threads: int) -> SpeechModel:
    """One model a process, for all its recordings."""
    return SpeechModel(find_model(name, cache), threads)
