"""The job table of an archive: what was logged of what, and what could not be. SQLite.

Whether a run is done is decided by its run folder; the table keeps what folders do not say: why a
recording could not be logged, who took part, and digests of files that need not be read again.
"""

import json
import sqlite3
from pathlib import Path
from types import TracebackType
from typing import Self

from voxlog.archive.recordings import Recorded
from voxlog.errors import InputError
from voxlog.log.digest import file_sha256
from voxlog.log.people import People

__all__ = ["Ledger"]

_TABLES = """
CREATE TABLE IF NOT EXISTS file (
    path TEXT PRIMARY KEY, bytes INTEGER, changed_ns INTEGER, sha256 TEXT
);
CREATE TABLE IF NOT EXISTS job (
    key TEXT PRIMARY KEY, audio TEXT, state TEXT, error TEXT, subjects TEXT, crew TEXT
);
"""


class Ledger:
    """The table in a file, for use in a with statement; every call is on the disk when it ends."""

    def __init__(self, path: Path) -> None:
        try:
            self._base = sqlite3.connect(path, isolation_level=None)
            self._base.execute("PRAGMA synchronous = FULL")
            self._base.executescript(_TABLES)
        except sqlite3.Error as error:
            raise InputError(
                f"{path}: not a job table of voxlog ({error}); move it away"
            ) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._base.close()

    def digest(self, path: Path) -> str:
        """SHA-256 of a file; read only if its size or its time of change are new. OSError passes.

        A file that was changed and given its old time back is not noticed.
        """
        about = path.stat()
        known = self._base.execute(
            "SELECT sha256 FROM file WHERE path = ? AND bytes = ? AND changed_ns = ?",
            (str(path), about.st_size, about.st_mtime_ns),
        ).fetchone()
        if known:
            return str(known[0])
        digest = file_sha256(path)
        self._base.execute(
            "INSERT OR REPLACE INTO file VALUES (?, ?, ?, ?)",
            (str(path), about.st_size, about.st_mtime_ns, digest),
        )
        return digest

    def plan(self, key: str, recorded: Recorded) -> None:
        """Note a job, or who took part in one that is known."""
        audio = json.dumps([str(path) for path in recorded.audio])
        subjects, crew = (
            json.dumps(recorded.people.subjects),
            json.dumps(dict(recorded.people.crew)),
        )
        self._base.execute(
            "INSERT INTO job VALUES (?, ?, 'planned', '', ?, ?) ON CONFLICT (key) DO UPDATE"
            " SET audio = excluded.audio, subjects = excluded.subjects, crew = excluded.crew",
            (key, audio, subjects, crew),
        )

    def close_job(self, key: str, error: str) -> None:
        """Note how a job ended; error: empty where it was logged."""
        self._base.execute(
            "UPDATE job SET state = ?, error = ? WHERE key = ?",
            ("failed" if error else "logged", error, key),
        )

    def people(self, key: str) -> People:
        """Who took part; nobody known for a job that was never planned here."""
        found = self._base.execute(
            "SELECT subjects, crew FROM job WHERE key = ?", (key,)
        ).fetchone()
        return People(tuple(json.loads(found[0])), json.loads(found[1])) if found else People()
