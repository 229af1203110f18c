"""Two small closed runs to review: one logged from a recording, one recorded live."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.follow.event import Event
from voxlog.log.digest import file_sha256
from voxlog.log.folder import CHAINED, AudioFile, RunFacts, RunFolder, header_of
from voxlog.log.live_folder import finish_folder
from voxlog.log.live_log import LiveLog, note_record, row_record

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


@pytest.fixture
def run(tmp_path: Path) -> Path:
    place = tmp_path / "run"
    with RunFolder.create(place) as folder:
        audio = kept_audio(folder.partial, place)
        folder.save(facts(audio), [{"heard": "loud and clear"}], EVENTS)
    return place


@pytest.fixture
def live_run(tmp_path: Path) -> Path:
    place = tmp_path / "live"
    partial = tmp_path / "live.partial"
    partial.mkdir()
    audio = kept_audio(partial, place)
    with LiveLog.create(partial / CHAINED, header_of(facts(audio))) as log:
        log.append(row_record(1, "added", EVENTS[1]), note_record("warning", 70_000, "silent"))
        rows = list(enumerate(EVENTS, 1))
        finish_folder(place, log, facts(audio), [{"heard": "loud and clear"}], rows)
    return place
