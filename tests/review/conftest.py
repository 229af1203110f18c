"""Two small closed runs to review: one logged from a recording, one recorded live."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.follow.event import Event
from voxlog.log.digest import file_sha256
from voxlog.log.folder import CHAINED, AudioFile, RunFacts, RunFolder, header_of
from voxlog.log.live_folder import finish_folder
from voxlog.log.live_log import LiveLog, note_record, row_record
from voxlog.review.decision import Decision
from voxlog.review.key import make_key
from voxlog.review.review_log import append_decision
from voxlog.review.sign import sign

EVENTS = [
    Event(1.25, 2.0, "item", "ground", "1", "attendant", "confirmed", heard="löud\nand clear"),
    Event(3.0, 4.5, "item", "ground", "2", "operator", "negative", ("late",), "-1, not set", p=0.5),
    Event(5.0, 6.0, "reading", item="saturation", value=64.0, unit="%", flags=("off-limit",)),
    Event(9.0, 9.0, "item", "climb", "3", "attendant", "skipped"),
]


def facts(audio: AudioFile) -> RunFacts:
    return RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=b"voxlog-sheet: 1\n",
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(audio,),
        versions={"voxlog": "0.1.0"},
        start=datetime(2026, 11, 25, 9, 30, tzinfo=UTC),
        start_source="option",
    )


def kept_audio(folder: Path, place: Path) -> AudioFile:
    """A file of audio in the folder that is being built; its place is where it will be."""
    audio = folder / "audio" / "channel-1.flac"
    audio.parent.mkdir()
    audio.write_bytes(b"fLaC" + bytes(range(60)))
    return AudioFile(place / "audio/channel-1.flac", file_sha256(audio), 16_000, 1, 160_000)


def make_run(place: Path) -> Path:
    with RunFolder.create(place) as folder:
        audio = kept_audio(folder.partial, place)
        folder.save(facts(audio), [{"heard": "loud and clear"}], EVENTS)
    return place


def make_live_run(place: Path) -> Path:
    partial = place.with_name(place.name + ".partial")
    partial.mkdir()
    audio = kept_audio(partial, place)
    with LiveLog.create(partial / CHAINED, header_of(facts(audio))) as log:
        log.append(row_record(1, "added", EVENTS[1]), note_record("warning", 70_000, "silent"))
        rows = list(enumerate(EVENTS, 1))
        finish_folder(place, log, facts(audio), [{"heard": "loud and clear"}], rows)
    return place


def sign_twice(run: Path, keys: Path) -> Path:
    """Two sections: the first signed and countersigned, the second decided on only."""
    at = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
    append_decision(run, Decision("C-12", at, "cleared", 2, None, "a cöugh"))
    append_decision(run, Decision("C-12", at, "added", None, EVENTS[0], "missed"))
    for code in ("C-12", "C-13"):
        sign(run, code, keys / code, lambda: "")
    append_decision(run, Decision("C-13", at, "stands", 2, None, ""))
    append_decision(run, Decision("C-13", at, "corrected", 5, EVENTS[3], "later"))
    return run


@pytest.fixture
def run(tmp_path: Path) -> Path:
    return make_run(tmp_path / "run")


@pytest.fixture
def live_run(tmp_path: Path) -> Path:
    return make_live_run(tmp_path / "live")


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the keys of C-12 and C-13, named as they are."""
    folder = tmp_path_factory.mktemp("keys")
    for code in ("C-12", "C-13"):
        make_key(folder / code, code)
    return folder


@pytest.fixture(scope="session")
def signed_runs(tmp_path_factory: pytest.TempPathFactory, keys: Path) -> dict[str, Path]:
    """Signed runs, not to be changed: one logged from a recording, one recorded live."""
    folder = tmp_path_factory.mktemp("signed")
    made = {"logged": make_run(folder / "logged"), "live": make_live_run(folder / "live")}
    return {name: sign_twice(run, keys) for name, run in made.items()}
