"""From a key to a verified signature, as somebody types it."""

import io
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import pytest

from voxlog.follow.event import Event
from voxlog.log.folder import RunFacts, RunFolder
from voxlog.review.decision import Decision
from voxlog.review.key import make_key
from voxlog.review.review_log import append_decision


class Ended(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Ended]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    facts = RunFacts(
        "tiny", "Tiny", b"voxlog-sheet: 1\n", "tiny.en", "1a" * 32, (), {"voxlog": "1"}
    )
    with RunFolder.create(tmp_path / "run") as run:
        run.save(facts, [], [Event(1.0, 2.0, "item", item="1", status="skipped")])
    return tmp_path / "run"


@pytest.fixture
def key(voxlog: Run, tmp_path: Path) -> Path:
    code, out, err = voxlog("key", tmp_path / "own", "--as", "C-12")
    line, fingerprint = out.splitlines()
    assert (code, err) == (0, "")
    assert (tmp_path / "own.pub").read_text() == f"{line}\n"
    assert fingerprint.startswith("fingerprint ")
    return tmp_path / "own"


def test_sign_verify_review_on_and_countersign(
    voxlog: Run, folder: Path, key: Path, tmp_path: Path
) -> None:
    code, out, err = voxlog("sign", folder, "--as", "C-12", "--key", key)
    assert (code, err) == (0, "")
    assert out.startswith(f"{folder}: section 1 signed by C-12 (review), key ")
    assert "1 of 1 rows to decide are undecided" in out

    code, out, _ = voxlog("verify", folder)
    assert code == 0
    assert "signed by a key nobody vouched for, fingerprint" in out
    code, out, _ = voxlog("verify", folder, "--trust", tmp_path / "own.pub")
    assert code == 0
    assert "section 1 signed by C-12 (review) at 2" in out
    assert "nobody" not in out

    append_decision(folder, Decision("C-13", datetime.now(UTC), "stands", 1, None, ""))
    code, out, _ = voxlog("verify", folder, "--trust", tmp_path / "own.pub")
    assert code == 0
    assert "section 2, 1 decisions, is not signed yet" in out

    voxlog("key", tmp_path / "other", "--as", "C-13")
    code, out, _ = voxlog(
        *("sign", folder, "--as", "C-13", "--key", tmp_path / "other"),
        *("--meaning", "approval"),
    )
    assert code == 0
    assert out.startswith(f"{folder}: section 2 signed by C-13 (approval)")
    assert "undecided" not in out
    code, out, _ = voxlog("verify", folder, "--trust", tmp_path / "own.pub")
    assert code == 1
    assert out.startswith(
        f"{folder}: review.jsonl line 5: signature of C-13: signed by a key nobody vouched for"
    )


def test_a_changed_decision_is_named_with_its_line(voxlog: Run, folder: Path, key: Path) -> None:
    append_decision(folder, Decision("C-13", datetime.now(UTC), "cleared", 1, None, "a cough"))
    voxlog("sign", folder, "--as", "C-12", "--key", key)
    path = folder / "review.jsonl"
    path.write_bytes(path.read_bytes().replace(b"cough", b"laugh"))
    code, out, _ = voxlog("verify", folder)
    assert code == 1
    assert out.splitlines()[0].startswith(f"{folder}: review.jsonl line 2: changed")


def test_a_passphrase_needs_a_terminal(
    voxlog: Run, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    make_key(tmp_path / "own", "C-12", "green door")
    for words in (
        ("sign", folder, "--as", "C-12", "--key", tmp_path / "own"),
        ("key", tmp_path / "other", "--as", "C-12", "--passphrase"),
    ):
        code, out, err = voxlog(*words)
        assert (code, out) == (2, "")
        assert "no terminal to ask" in err
    assert not (tmp_path / "other").exists()


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (["key", "KEY", "--as", "C-13"], "is there already"),
        (["key", "FOLDER/none/own", "--as", "C-13"], "cannot be written"),
        (["key", "FOLDER/own"], "--as"),
        (["key", "FOLDER/own", "--as", "Ann"], "'Ann': not a code"),
        (["sign", "FOLDER", "--as", "C-12"], "--key"),
        (["sign", "FOLDER", "--as", "Ann", "--key", "KEY"], "'Ann': not a code"),
        (["sign", "FOLDER", "--as", "C-12", "--key", "KEY.pub"], "chmod 600"),
        (["sign", "FOLDER", "--as", "C-12", "--key", "none"], "No such file"),
        (["sign", "none", "--as", "C-12", "--key", "KEY"], "not a run folder"),
        (
            ["sign", "FOLDER", "--as", "C-12", "--key", "KEY", "--meaning", "fun"],
            "use one of review, approval, responsibility, authorship",
        ),
        (["verify", "FOLDER", "--trust", "none"], "cannot be read as text"),
        (["verify", "FOLDER", "--trust", "KEY"], "line 1: not a known key"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    voxlog: Run, folder: Path, key: Path, arguments: list[str], what: str
) -> None:
    words = [word.replace("KEY", str(key)).replace("FOLDER", str(folder)) for word in arguments]
    code, out, err = voxlog(*words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert what in err
    assert not (folder / "review.jsonl").exists()
