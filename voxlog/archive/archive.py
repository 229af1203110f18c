"""The table of contents: a tree of recordings to run folders and one table of all their rows.

    OUT/runs/<name>-<key>/     a run folder for each recording
    OUT/events/month=.../      the table of all rows (table.py)
    OUT/sheets/<digest>.yaml   the run sheets as they were used
    OUT/jobs.sqlite            the job table (ledger.py)

The key is the digest of what a log is made from: audio, sheet, model, positions, start. A recording
whose run folder is there is not logged again, however often the command is given.
"""

import fcntl
import hashlib
import re
import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC
from pathlib import Path
from typing import Any

import rfc8785

from voxlog.archive.job import Done, Job
from voxlog.archive.ledger import Ledger
from voxlog.archive.recordings import Recorded, find_recordings, read_index
from voxlog.archive.run_rows import run_rows
from voxlog.archive.table import RunRows, arrow_schema, write_table
from voxlog.errors import InputError
from voxlog.log.digest import bytes_sha256
from voxlog.log.disk import replace_through
from voxlog.log.folder import CHAINED, disk_errors
from voxlog.log.people import People
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.speech.model_files import find_model

__all__ = ["ArchiveRequest", "ArchiveResult", "Runner", "log_archive"]

Runner = Callable[[Sequence[Job]], Iterator[Done]]

_KEY_LENGTH = 16


@dataclass(frozen=True, slots=True)
class ArchiveRequest:
    """What the user asked for.

    tree: folder of recordings. index: list of them, or None for every audio file in the tree.
    positions: 0-based channel to position. cache: folder that may be lost.
    """

    tree: Path
    sheet: Path
    out: Path
    model: str
    cache: Path
    index: Path | None = None
    positions: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ArchiveResult:
    """What came of it: recordings logged now, there already, the same audio as another; the runs
    in the table; and what is wrong with the others, one line each.
    """

    logged: int
    there: int
    same: int
    runs: int
    table: Path
    failed: tuple[str, ...]


def log_archive(
    request: ArchiveRequest, run: Runner, progress: Callable[[float, float | None], None]
) -> ArchiveResult:
    """Log what is not logged yet, and make the table anew.

    run: does the jobs, somewhere. progress: called with the recordings done, and how many there
    are to do. InputError where nothing can be done at all; a bad recording is only listed.
    """
    arrow_schema()  # needs pyarrow: better told before the work than after it
    recorded = _recordings(request, load_sheet(request.sheet))
    with _only_one(request.out), Ledger(request.out / "jobs.sqlite") as ledger:
        shutil.rmtree(request.out / "scratch", ignore_errors=True)
        plan = _plan(request, recorded, ledger)
        to_do = [job for job in plan.jobs if not _is_there(job.place)]
        not_logged = _do(to_do, run, ledger, progress)
        shutil.rmtree(request.out / "scratch", ignore_errors=True)
        not_whole: list[str] = []
        rows = _rows(request.out / "runs", ledger, not_whole)
        runs = write_table(request.out / "events", rows)
    return ArchiveResult(
        logged=len(to_do) - len(not_logged),
        there=len(plan.jobs) - len(to_do),
        same=plan.same,
        runs=runs,
        table=request.out / "events",
        failed=(*plan.unread, *not_logged, *not_whole),
    )


@dataclass(frozen=True, slots=True)
class _Plan:
    """jobs: one for each key. same: recordings that have the key of another one. unread: why files
    could not be read.
    """

    jobs: tuple[Job, ...]
    same: int
    unread: tuple[str, ...]


def _recordings(request: ArchiveRequest, sheet: Sheet) -> list[Recorded]:
    if request.index is None:
        return find_recordings(request.tree, request.out)
    return read_index(request.index, request.tree, sheet.positions)


@contextmanager
def _only_one(out: Path) -> Iterator[None]:
    """Hold the archive; the lock goes with the process, however that ends."""
    with disk_errors(out):
        out.mkdir(parents=True, exist_ok=True)
        lock = (out / ".lock").open("w")
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise InputError(
                f"{out}: another voxlog archive is at work here; wait for it, or end it"
            ) from error
        yield


def _plan(request: ArchiveRequest, recorded: Sequence[Recorded], ledger: Ledger) -> _Plan:
    sheet = _keep_sheet(request)
    configuration: dict[str, Any] = {
        "sheet": sheet.stem,
        "model": find_model(request.model, request.cache).sha256,
        "positions": {str(channel): name for channel, name in request.positions.items()},
    }
    template = Job(
        key="",
        audio=(),
        sheet=sheet,
        place=request.out.resolve() / "runs",
        scratch=request.out.resolve() / "scratch",
        model=request.model,
        cache=request.cache.resolve(),
        positions=dict(request.positions),
    )
    jobs: dict[str, Job] = {}
    unread = []
    places = _places(template.place)
    for one in recorded:
        try:
            key = _key([ledger.digest(path) for path in one.audio], one, configuration)
        except OSError as error:
            unread.append(f"{error.filename}: {error.strerror}; check the name, or the disk")
            continue
        if key not in jobs:
            ledger.plan(key, one)
            place = places.get(key) or template.place / f"{_name(one)}-{key}"
            jobs[key] = replace(
                template,
                key=key,
                audio=one.audio,
                start=one.start,
                people=one.people,
                place=place,
            )
    return _Plan(tuple(jobs.values()), len(recorded) - len(unread) - len(jobs), tuple(unread))


def _keep_sheet(request: ArchiveRequest) -> Path:
    """Workers read a copy, so that all use the same though somebody edits the sheet meanwhile."""
    data = request.sheet.read_bytes()
    place = request.out.resolve() / "sheets" / f"{bytes_sha256(data)}.yaml"
    with disk_errors(place):
        place.parent.mkdir(exist_ok=True)
        replace_through(place, data)
    return place


def _key(digests: Sequence[str], one: Recorded, configuration: Mapping[str, Any]) -> str:
    start = None if one.start is None else one.start.astimezone(UTC).isoformat()
    made_from = {"audio": list(digests), "start": start, **configuration}
    return hashlib.sha256(rfc8785.dumps(made_from)).hexdigest()[:_KEY_LENGTH]


def _name(one: Recorded) -> str:
    return re.sub(r"[^A-Za-z0-9._]+", "-", one.audio[0].stem).strip("-.") or "run"


def _places(runs: Path) -> dict[str, Path]:
    """Run folders by key: a recording that was moved or renamed keeps its folder."""
    if not runs.is_dir():
        return {}
    return {path.name.rpartition("-")[2]: path for path in runs.iterdir() if _is_there(path)}


def _is_there(place: Path) -> bool:
    return (place / CHAINED).is_file()


def _do(
    jobs: Sequence[Job],
    run: Runner,
    ledger: Ledger,
    progress: Callable[[float, float | None], None],
) -> list[str]:
    """Why jobs failed, in the order of the jobs."""
    errors: dict[str, str] = {}
    for count, done in enumerate(run(jobs) if jobs else (), 1):
        ledger.close_job(done.key, done.error)
        if done.error:
            errors[done.key] = done.error
        progress(count, len(jobs))
    return [errors[job.key] for job in jobs if job.key in errors]


def _rows(runs: Path, ledger: Ledger, not_whole: list[str]) -> Iterator[RunRows]:
    """The rows of every run folder, one at a time; not_whole: gets what is wrong with others."""
    for key, folder in sorted(_places(runs).items(), key=lambda each: each[1].name):
        try:
            rows = run_rows(folder)
        except InputError as error:
            not_whole.append(str(error))
        else:
            yield _with_people(rows, ledger.people(key))


def _with_people(rows: RunRows, people: People) -> RunRows:
    """Codes of the index, where it has any, stand for those that the run was logged with."""
    return replace(rows, subjects=people.subjects or rows.subjects, crew=people.crew or rows.crew)
