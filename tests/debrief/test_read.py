import json
from pathlib import Path

import pytest

from tests.debrief.made import EVENTS, SAID, START, decided, make_folder
from voxlog.debrief.read import read_run
from voxlog.debrief.run import Channel
from voxlog.errors import InputError
from voxlog.review.review_log import append_decision


def test_what_was_saved_is_read(tmp_path: Path) -> None:
    run = read_run(make_folder(tmp_path / "s-07"))
    assert (run.name, run.events, run.said) == ("s-07", EVENTS, SAID)
    assert run.channels == (
        Channel(1, "audio/channel-1.flac", 100.0, "conductor"),
        Channel(2, "audio/channel-2.flac", 100.0, "attendant"),
    )
    assert (run.start, run.start_source, run.sheet.id) == (START, "option", "short")
    assert [one.state for one in run.outcomes] == ["open"] * len(EVENTS)
    assert len(run.seal) == 64


def test_an_answer_that_was_surmised_is_no_stretch_of_speech(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s-07")
    path = folder / "utterances.jsonl"
    first = json.loads(path.read_text().splitlines()[0])
    with path.open("a") as lines:
        lines.write(json.dumps({**first, "surmised": True}) + "\n")
    assert read_run(folder).said == SAID


def test_its_review_is_read_with_it(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s-07")
    append_decision(folder, decided(2, "stands"))
    assert read_run(folder).outcomes[1].state == "agreed"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("run.json", b"{}"),
        ("run.json", b"[1, 2"),
        ("run.json", b"\xff\xfe"),
        ("utterances.jsonl", b'{"channel":1}\n'),
        ("utterances.jsonl", b"[]\n"),
        ("sheet.yaml", b"voxlog-sheet: 1\n"),
        ("events.jsonl", b"{}\n"),
        ("review.jsonl", b"{}\n{}\n{}\n"),
    ],
)
def test_a_damaged_folder_is_said_in_one_line(tmp_path: Path, name: str, data: bytes) -> None:
    folder = make_folder(tmp_path / "s-07")
    (folder / name).write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_run(folder)
    assert str(caught.value)


@pytest.mark.parametrize("name", ["run.json", "utterances.jsonl", "sheet.yaml"])
def test_a_missing_file_is_named(tmp_path: Path, name: str) -> None:
    folder = make_folder(tmp_path / "s-07")
    (folder / name).unlink()
    with pytest.raises(InputError, match=name):
        read_run(folder)


def test_no_folder_at_all(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a run folder"):
        read_run(tmp_path)


def test_names_of_files_are_not_kept(tmp_path: Path) -> None:
    """What the recording was called may be a name of a person: codes only on the page."""
    folder = make_folder(tmp_path / "s-07")
    facts = json.loads((folder / "run.json").read_text(encoding="utf-8"))
    facts["settings"]["audio"] = [{"file": "jane-doe.wav", "sha256": "00"}]
    (folder / "run.json").write_text(json.dumps(facts), encoding="utf-8")
    assert "jane" not in repr(read_run(folder))
