"""What is read of a run folder, and what of it is believed."""

import json
from pathlib import Path

import pytest

from tests.review_page.made_up import EVENTS, make_run, tone
from voxlog.errors import InputError
from voxlog.review_page.run import read_run


def test_a_run_folder_is_read_whole(run: Path) -> None:
    found = read_run(run)
    assert found.events == EVENTS
    assert found.seconds == 12.0
    assert [(channel.path.name, channel.position) for channel in found.channels] == [
        ("channel-1.flac", "operator")
    ]
    assert [line.text for line in found.lines] == ["supply pressure", "1000"]
    assert found.warnings == ()


def point_audio_at(run: Path, name: str) -> None:
    facts = json.loads((run / "run.json").read_text())
    facts["audio"][0]["path"] = name
    (run / "run.json").write_text(json.dumps(facts))


@pytest.mark.parametrize(
    "name",
    [
        "../secret.flac",
        "audio/../../secret.flac",
        "/etc/passwd",
        "audio",
        "audio/gone.flac",
        "a\0b",
    ],
)
def test_audio_outside_the_folder_is_never_opened(run: Path, name: str) -> None:
    (run.parent / "secret.flac").write_bytes((run / "audio/channel-1.flac").read_bytes())
    point_audio_at(run, name)
    found = read_run(run)
    assert found.channels == ()
    assert f"{name}: not in the run folder; it cannot be played" in found.warnings
    assert any(text.startswith("run.json: changed") for text in found.warnings)


def test_a_link_out_of_the_folder_is_not_followed(run: Path) -> None:
    audio = run / "audio/channel-1.flac"
    audio.rename(run.parent / "elsewhere.flac")
    audio.symlink_to(run.parent / "elsewhere.flac")
    assert read_run(run).channels == ()


def test_a_change_since_the_log_was_closed_is_told(run: Path) -> None:
    audio = run / "audio/channel-1.flac"
    audio.write_bytes(audio.read_bytes()[:-100])
    assert read_run(run).warnings == ("audio/channel-1.flac: not the recording that was logged",)


def test_a_run_without_what_was_heard_can_be_reviewed(run: Path) -> None:
    (run / "utterances.jsonl").unlink()
    found = read_run(run)
    assert found.lines == ()
    assert found.warnings == ("utterances.jsonl: missing",)


@pytest.mark.parametrize(
    ("name", "content", "text"),
    [
        ("events.jsonl", "", "events.jsonl line 1: not closed"),
        ("run.json", "{", "run.json: not as voxlog writes it"),
        ("run.json", "[]", "run.json: not as voxlog writes it"),
        ("run.json", '{"audio": [{}]}', "run.json: not as voxlog writes it"),
        ("run.json", '{"audio": [], "clock": []}', "run.json: not as voxlog writes it"),
        ("utterances.jsonl", "{}\n", "utterances.jsonl line 1: not an utterance"),
        ("utterances.jsonl", "\udcff", "utterances.jsonl: cannot be read"),
        ("sheet.yaml", "voxlog-sheet: 1\n", "sheet.yaml"),
    ],
)
def test_a_damaged_folder_is_refused_in_one_line(
    run: Path, name: str, content: str, text: str
) -> None:
    (run / name).write_bytes(content.encode("utf-8", "surrogateescape"))
    with pytest.raises(InputError) as found:
        read_run(run)
    assert text in str(found.value)


def test_no_run_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a run folder"):
        read_run(tmp_path)


def test_two_channels_and_who_speaks_on_them(tmp_path: Path) -> None:
    found = read_run(make_run(tmp_path / "two", audio=(tone(12.0), tone(12.0, 880.0))))
    assert [channel.position for channel in found.channels] == ["operator", ""]
