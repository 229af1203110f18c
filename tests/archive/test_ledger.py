"""The job table of an archive."""

import os
import sqlite3
from hashlib import sha256
from pathlib import Path

import pytest

from voxlog.archive.ledger import Ledger
from voxlog.archive.recordings import Recorded
from voxlog.errors import InputError
from voxlog.log.people import People


def test_a_digest_is_kept_until_the_file_changes(tmp_path: Path) -> None:
    audio = tmp_path / "one.wav"
    audio.write_bytes(b"one")
    before = audio.stat()
    with Ledger(tmp_path / "jobs.sqlite") as ledger:
        assert ledger.digest(audio) == sha256(b"one").hexdigest()
        # The same size and time: it is not read again.
        audio.write_bytes(b"two")
        os.utime(audio, ns=(before.st_atime_ns, before.st_mtime_ns))
        assert ledger.digest(audio) == sha256(b"one").hexdigest()
        os.utime(audio, ns=(before.st_atime_ns, before.st_mtime_ns + 1))
        assert ledger.digest(audio) == sha256(b"two").hexdigest()
        with pytest.raises(FileNotFoundError):
            ledger.digest(tmp_path / "nowhere.wav")


def test_what_was_noted_is_there_the_next_time(tmp_path: Path) -> None:
    people = People(("S-07",), {"conductor": "C-12"})
    with Ledger(tmp_path / "jobs.sqlite") as ledger:
        ledger.plan("a1", Recorded((Path("/x.wav"),), people=people))
        ledger.plan("b2", Recorded((Path("/y.wav"),)))
        ledger.close_job("a1", "")
        ledger.close_job("b2", "y.wav: no audio in it")
    with Ledger(tmp_path / "jobs.sqlite") as ledger:
        assert [ledger.people(key) for key in ("a1", "b2", "c3")] == [people, People(), People()]
    base = sqlite3.connect(tmp_path / "jobs.sqlite")
    rows = base.execute("SELECT key, audio, state, error FROM job ORDER BY key").fetchall()
    base.close()
    assert rows == [
        ("a1", '["/x.wav"]', "logged", ""),
        ("b2", '["/y.wav"]', "failed", "y.wav: no audio in it"),
    ]


def test_codes_are_those_of_the_last_index(tmp_path: Path) -> None:
    with Ledger(tmp_path / "jobs.sqlite") as ledger:
        for code in ("S-07", "S-08"):
            ledger.plan("a1", Recorded((Path("/x.wav"),), people=People((code,))))
            ledger.close_job("a1", "")
        assert ledger.people("a1").subjects == ("S-08",)


def test_another_file_in_its_place_is_told(tmp_path: Path) -> None:
    (tmp_path / "jobs.sqlite").write_bytes(b"not a data base, but as long as the header of one")
    with pytest.raises(InputError, match="not a job table of voxlog"):
        Ledger(tmp_path / "jobs.sqlite")
