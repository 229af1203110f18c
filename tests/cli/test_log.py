"""`voxlog log`, then what is done with its folder: every row reaches stdout, nothing else does."""

import csv
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

Run = Callable[..., tuple[int, str, str]]


def rows_of(folder: Path) -> list[dict[str, str]]:
    with (folder / "events.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_summary_goes_to_stdout_and_nothing_to_stderr(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    code, text, err = voxlog("log", recording, "--sheet", sheet, "--out", out)
    assert (code, err) == (0, "")
    assert text.startswith("Two checks\n")
    assert text.endswith(f"Run folder: {out}\nDebrief: {out / 'debrief.html'}\n")
    assert "not a medical device" in " ".join(text.split())
    assert {path.name for path in out.iterdir()} == {
        *("audio", "events.csv", "events.jsonl", "run.json", "sheet.yaml", "utterances.jsonl"),
        "debrief.html",
    }
    assert [row["item"] for row in rows_of(out) if row["kind"] == "item"] == ["1", "2"]


@pytest.mark.slow
def test_json_says_what_the_table_says(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    code, text, err = voxlog(
        *("log", recording, "--sheet", sheet, "--out", out, "--json"),
        *("--start", "2026-11-25T09:30:00+01:00", "--map", "1=conductor"),
    )
    assert (code, err) == (0, "")
    result = json.loads(text)
    assert result["folder"] == str(out)
    assert (result["sheet"], result["start"]) == ("tiny", "2026-11-25T08:30:00.000Z")
    assert result["seconds"] == 16.0
    table = rows_of(out)
    assert len(result["events"]) == len(table)
    for event, row in zip(result["events"], table, strict=True):
        assert list(event) == list(row)
        assert event["t"] == float(row["t"])
        assert event["utc"] == row["utc"]
        assert (event["status"] or "") == row["status"]
        assert ";".join(event["flags"]) == row["flags"]
        assert event["p"] == float(row["p"])


@pytest.mark.slow
def test_strict_exits_3_for_findings_only(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    """Silence confirms nothing, so every item is a finding."""
    silence = tmp_path / "silence.wav"
    soundfile.write(silence, np.zeros(32_000), 16_000)
    code, text, _ = voxlog(
        "log", silence, "--sheet", sheet, "--out", tmp_path / "one", "--strict", "--json"
    )
    assert code == 3
    assert len(json.loads(text)["findings"]) == 2
    code, text, _ = voxlog(
        "log", recording, "--sheet", sheet, "--out", tmp_path / "two", "--strict", "--json"
    )
    assert code == (3 if json.loads(text)["findings"] else 0)


def test_a_file_for_each_position(
    voxlog: Run, said: np.ndarray, sheet: Path, tmp_path: Path
) -> None:
    for name, gain in (("conductor", 1.0), ("attendant", 0.0)):
        soundfile.write(tmp_path / f"{name}.wav", said[:64_000] * gain, 16_000)
    code, text, _ = voxlog(
        *("log", tmp_path / "conductor.wav", tmp_path / "attendant.wav", "--sheet", sheet),
        *("--map", "1=conductor,2=attendant", "--out", tmp_path / "run"),
    )
    assert code == 0
    assert "Warning: no sound at all in channel 2" in text
    assert {path.name for path in (tmp_path / "run/audio").iterdir()} == {
        *("channel-1.flac", "channel-2.flac")
    }


@pytest.mark.slow
def test_the_folder_is_verified_and_scored(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    voxlog("log", recording, "--sheet", sheet, "--out", out)
    code, text, _ = voxlog("verify", out)
    assert code == 0
    assert text.startswith(f"{out}: whole, ")
    seal = text.split()[-1]
    assert len(bytes.fromhex(seal)) == 32
    # A log is its own truth.
    code, text, _ = voxlog("score", out, "--truth", out / "events.csv", "--json")
    assert code == 0
    scores = json.loads(text)
    assert scores["item_status"] == {"right": 2, "total": 2, "share": 1.0}
    assert scores["duration_s"] == 16.0
    code, text, _ = voxlog("score", out, "--truth", out / "events.csv")
    assert "Item status accuracy" in text
    # One changed byte.
    log = out / "events.jsonl"
    log.write_bytes(
        log.read_bytes().replace(b"confirmed", b"cOnfirmed", 1).replace(b"item", b"iteM", 1)
    )
    code, text, _ = voxlog("verify", out)
    assert code == 1
    assert text.splitlines()[0].startswith(f"{out}: events.jsonl line ")
