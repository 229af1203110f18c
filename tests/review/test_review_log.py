"""Decisions are on the disk for good, in one order, whoever adds them and whatever breaks."""

import errno
import json
import os
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import split_lines
from voxlog.log.digest import bytes_sha256
from voxlog.review.decision import Decision, Verdict
from voxlog.review.review_log import HEAD, REVIEW, append_decision, read_review
from voxlog.review.section import Review

AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
MISSED = Event(7.0, 7.5, "callout", "climb", "climb", "operator", value=5000.0, unit="ft")


def decide(verdict: Verdict, row: int | None, reviewer: str = "C-12") -> Decision:
    event = MISSED if verdict in ("added", "corrected") else None
    return Decision(reviewer, AT, verdict, row, event, "beçause")


DECISIONS = [
    decide("stands", 2),
    decide("added", None),
    decide("cleared", 2, "C-13"),
    decide("corrected", 5, "C-13"),
    decide("deferred", 3),
]


@pytest.fixture
def reviewed(run: Path) -> Path:
    for decision in DECISIONS:
        append_decision(run, decision)
    return run


def test_a_run_nobody_reviewed_has_an_empty_review(run: Path) -> None:
    assert read_review(run) == Review()
    assert not (run / REVIEW).exists()


def test_each_decision_is_there_when_append_returns(run: Path) -> None:
    for count, decision in enumerate(DECISIONS, 1):
        append_decision(run, decision)
        review = read_review(run)
        assert list(review.decisions) == DECISIONS[:count]
        assert not review.is_signed
        last = json.loads((run / REVIEW).read_bytes().splitlines()[-1])
        assert json.loads((run / HEAD).read_bytes()) == {"n": count, "digest": last["digest"]}


def test_the_review_is_chained_to_the_log_and_leaves_it_alone(run: Path) -> None:
    log = (run / "events.jsonl").read_bytes()
    append_decision(run, DECISIONS[0])
    assert (run / "events.jsonl").read_bytes() == log
    header, decision = split_lines((run / REVIEW).read_bytes())
    assert json.loads(header)["prev"] == bytes_sha256(split_lines(log)[-1])
    assert json.loads(header)["log"] == json.loads(split_lines(log)[-1])["digest"]
    assert json.loads(decision)["prev"] == bytes_sha256(header)


def test_a_live_run_counts_the_rows_of_its_final_pass(live_run: Path) -> None:
    append_decision(live_run, decide("stands", 4))
    with pytest.raises(InputError, match="row 5: there are 4 rows"):
        append_decision(live_run, decide("stands", 5))
    assert len(read_review(live_run).decisions) == 1


def test_an_added_row_can_be_decided_on_once_it_is_there(run: Path) -> None:
    with pytest.raises(InputError, match="row 5: there are 4 rows"):
        append_decision(run, decide("cleared", 5))
    append_decision(run, decide("added", None))
    append_decision(run, decide("cleared", 5))
    assert len(read_review(run).decisions) == 2


@pytest.mark.parametrize("name", ["missing", "open"])
def test_a_run_that_is_not_finished_is_not_reviewed(run: Path, name: str) -> None:
    log = run / "events.jsonl"
    if name == "missing":
        log.unlink()
    else:
        log.write_bytes(b"".join(split_lines(log.read_bytes())[:-1]))
    for act in (lambda: append_decision(run, DECISIONS[0]), lambda: read_review(run)):
        with pytest.raises(InputError, match=r"not a run folder|finish the run first"):
            act()
    assert not (run / REVIEW).exists()


def test_cut_off_at_every_byte_of_a_last_line_it_goes_on_and_keeps_what_was_torn(
    reviewed: Path,
) -> None:
    """As a power cut leaves it: the head is written after the line, so it knows the one before."""
    data = (reviewed / REVIEW).read_bytes()
    before = json.loads(split_lines(data)[-2])
    head = json.dumps({"digest": before["digest"], "n": before["n"]}, separators=(",", ":"))
    start = sum(map(len, split_lines(data)[:-1]))
    for torn in range(start + 1, len(data), 37):
        (reviewed / REVIEW).write_bytes(data[:torn])
        (reviewed / HEAD).write_text(head + "\n")
        assert list(read_review(reviewed).decisions) == DECISIONS[:-1]
        append_decision(reviewed, DECISIONS[-1])
        assert list(read_review(reviewed).decisions) == DECISIONS
        *_, taken_up, _ = map(json.loads, split_lines((reviewed / REVIEW).read_bytes()))
        assert (reviewed / taken_up["torn"]).read_bytes() == data[start:torn]
        assert taken_up["torn_sha256"] == bytes_sha256(data[start:torn])
        assert taken_up["torn_bytes"] == torn - start


@pytest.mark.parametrize("kept", [0, 1, 100, -1])
def test_a_first_line_that_was_torn_is_begun_again(run: Path, kept: int) -> None:
    append_decision(run, DECISIONS[0])
    header = split_lines((run / REVIEW).read_bytes())[0]
    (run / HEAD).unlink()
    (run / REVIEW).write_bytes(header[: kept % len(header)])
    assert read_review(run).decisions == ()
    append_decision(run, DECISIONS[0])
    assert read_review(run).decisions == (DECISIONS[0],)


def test_a_head_that_lags_behind_is_mended_by_the_next_decision(reviewed: Path) -> None:
    old = (reviewed / HEAD).read_bytes()
    append_decision(reviewed, DECISIONS[0])
    (reviewed / HEAD).write_bytes(old)
    assert len(read_review(reviewed).decisions) == 6
    append_decision(reviewed, DECISIONS[0])
    assert json.loads((reviewed / HEAD).read_bytes())["n"] == 7


def damaged_by(name: str, folder: Path) -> str:
    """Damage a review of six lines; what is then said."""
    path, head = folder / REVIEW, folder / HEAD
    lines = split_lines(path.read_bytes())
    if name == "cut":
        path.write_bytes(b"".join(lines[:-1]))
        return "review.jsonl line 6: missing"
    if name == "torn, though it was kept":
        path.write_bytes(b"".join(lines)[:-9])
        return "review.jsonl line 6: torn"
    if name == "changed":
        path.write_bytes(b"".join(lines).replace(b'"row":3', b'"row":4'))
        return "review.jsonl line 6: changed"
    if name == "a line in the middle":
        path.write_bytes(b"".join(lines[:2] + lines[3:]))
        return "review.jsonl line 3: missing"
    if name == "head":
        head.write_bytes(head.read_bytes().replace(b'"n":5', b'"n":4'))
        return "review.head: changed"
    if name == "head gone":
        head.unlink()
        return "review.head: missing"
    if name == "review gone":
        path.unlink()
        return "review.jsonl: missing"
    raise AssertionError(name)


@pytest.mark.parametrize(
    "name",
    [
        *("cut", "torn, though it was kept", "changed", "a line in the middle"),
        *("head", "head gone", "review gone"),
    ],
)
def test_a_damaged_review_is_neither_read_nor_added_to(reviewed: Path, name: str) -> None:
    message = damaged_by(name, reviewed)
    with pytest.raises(InputError, match=message):
        read_review(reviewed)
    before = (reviewed / REVIEW).read_bytes() if (reviewed / REVIEW).exists() else b""
    with pytest.raises(InputError, match=r"review\.(jsonl|head)"):
        append_decision(reviewed, DECISIONS[0])
    assert (reviewed / REVIEW).read_bytes() == before


def test_a_review_of_another_log_is_refused(reviewed: Path, live_run: Path) -> None:
    for name in (REVIEW, HEAD):
        (live_run / name).write_bytes((reviewed / name).read_bytes())
    with pytest.raises(InputError, match=r"review\.jsonl line 1: changed"):
        read_review(live_run)


def test_a_full_disk_loses_nothing_and_says_so(
    reviewed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk takes ten bytes of a line and then nothing."""
    write, room = os.write, [10]

    def full(descriptor: int, data: bytes) -> int:
        if not room[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        taken, room[0] = room[0], 0
        return write(descriptor, bytes(data)[:taken])

    before = (reviewed / REVIEW).read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        with pytest.raises(InputError, match=r"No space left on device.*nothing was added"):
            append_decision(reviewed, DECISIONS[0])
    assert (reviewed / REVIEW).read_bytes() == before
    append_decision(reviewed, DECISIONS[0])
    assert len(read_review(reviewed).decisions) == 6


CHILD = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision
for number in range(int(sys.argv[3])):
    at = datetime(2026, 1, 1, microsecond=number, tzinfo=UTC)
    append_decision(Path(sys.argv[1]), Decision(sys.argv[2], at, "stands", 1, None, "x" * number))
    print(number, flush=True)
"""


def start(run: Path, reviewer: str, count: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", CHILD, str(run), reviewer, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def test_two_processes_at_once_lose_nothing(run: Path) -> None:
    children = [start(run, f"C-{number}", 25) for number in (1, 2)]
    for child in children:
        child.communicate()
        assert child.returncode == 0
    decisions = read_review(run).decisions
    for reviewer in ("C-1", "C-2"):
        own = [each.at.microsecond for each in decisions if each.reviewer == reviewer]
        assert own == list(range(25))
    assert len(decisions) == 50


def test_killed_at_any_moment_every_decision_that_was_reported_is_there(run: Path) -> None:
    child = start(run, "C-1", 100_000)
    assert child.stdout is not None
    for _ in range(20):
        child.stdout.readline()
    child.send_signal(signal.SIGKILL)
    reported = child.stdout.read().split()
    child.stdout.close()
    child.wait()
    count = len(read_review(run).decisions)
    assert count >= (int(reported[-1]) + 1 if reported else 20)
    append_decision(run, DECISIONS[0])
    assert len(read_review(run).decisions) == count + 1
