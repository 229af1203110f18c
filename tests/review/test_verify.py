"""Whatever is done to a run folder, verify catches it and names the file, and the line if any."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.log.chain import split_lines
from voxlog.log.folder import CHAINED, RunFacts, header_of
from voxlog.log.live_folder import finish_folder
from voxlog.log.live_log import LiveLog
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision
from voxlog.review.verify import check_folder

KINDS = ("logged", "live")
CHAINS = ("events.jsonl", "review.jsonl")
LINED = (*CHAINS, "events.csv", "utterances.jsonl")
FILES = (
    *("events.jsonl", "review.jsonl", "review.head", "audio/channel-1.flac", "sheet.yaml"),
    *("events.csv", "utterances.jsonl", "run.json"),
)


@contextmanager
def damaged(run: Path, name: str, data: bytes) -> Iterator[Path]:
    """The run with other bytes in one of its files, and then as it was."""
    path = run / name
    good = path.read_bytes()
    path.write_bytes(data)
    try:
        yield run
    finally:
        path.write_bytes(good)


def first_difference(right: list[bytes], other: list[bytes]) -> int:
    for number, (one, two) in enumerate(zip(right, other, strict=False), 1):
        if one != two:
            return number
    return min(len(right), len(other)) + 1


def check_named(run: Path, name: str, data: bytes) -> None:
    """Verify must complain of this file, and of the first line in it that is not as it was."""
    right = (run / name).read_bytes()
    assert data != right
    with damaged(run, name, data):
        try:
            problems = check_folder(run).problems
        except InputError as error:
            raise AssertionError(f"{name}: refused instead of named: {error}") from error
    told = [problem for problem in problems if problem.startswith(name)]
    assert told, problems
    if name in (*CHAINS, "events.csv"):
        line = first_difference(split_lines(right), split_lines(data))
        assert told[0].startswith(f"{name} line {line}: "), told


@pytest.mark.parametrize("kind", KINDS)
def test_a_signed_run_is_whole(signed_runs: dict[str, Path], kind: str) -> None:
    checked = check_folder(signed_runs[kind])
    assert checked.problems == ()
    assert checked.log.unchecked == ()
    assert checked.log.event_count == 4
    assert len(checked.review.decisions) == 4
    assert [line[:27] for line in checked.signed] == [
        *("section 1 signed by C-12 (r", "section 1 signed by C-13 (r"),
    ]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FILES)
@settings(max_examples=40)
@given(data=st.data())
def test_any_byte_that_is_changed(
    signed_runs: dict[str, Path], kind: str, name: str, data: st.DataObject
) -> None:
    changed = bytearray((signed_runs[kind] / name).read_bytes())
    place = data.draw(st.integers(0, len(changed) - 1))
    changed[place] ^= data.draw(st.integers(1, 255))
    check_named(signed_runs[kind], name, bytes(changed))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FILES)
def test_every_byte_there_is(signed_runs: dict[str, Path], kind: str, name: str) -> None:
    good = (signed_runs[kind] / name).read_bytes()
    for place in range(len(good)):
        changed = bytearray(good)
        changed[place] ^= 1 << place % 8
        check_named(signed_runs[kind], name, bytes(changed))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", LINED)
def test_any_line_that_is_dropped_repeated_or_moved(
    signed_runs: dict[str, Path], kind: str, name: str
) -> None:
    run = signed_runs[kind]
    lines = split_lines((run / name).read_bytes())
    for place, line in enumerate(lines):
        rest = lines[:place] + lines[place + 1 :]
        check_named(run, name, b"".join(rest))
        for target in range(len(lines) + 1):
            check_named(run, name, b"".join([*lines[:target], line, *lines[target:]]))
            moved = [*rest[:target], line, *rest[target:]]
            if moved != lines:
                check_named(run, name, b"".join(moved))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FILES)
@settings(max_examples=30)
@given(data=st.data())
def test_any_tail_that_is_cut(
    signed_runs: dict[str, Path], kind: str, name: str, data: st.DataObject
) -> None:
    good = (signed_runs[kind] / name).read_bytes()
    check_named(signed_runs[kind], name, good[: data.draw(st.integers(0, len(good) - 1))])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FILES)
@settings(max_examples=10)
@given(more=st.binary(min_size=1, max_size=40))
def test_anything_that_is_added_at_the_end(
    signed_runs: dict[str, Path], kind: str, name: str, more: bytes
) -> None:
    check_named(signed_runs[kind], name, (signed_runs[kind] / name).read_bytes() + more)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_gone(
    signed_runs: dict[str, Path], tmp_path: Path, kind: str, name: str
) -> None:
    run = shutil.copytree(signed_runs[kind], tmp_path / "run")
    (run / name).unlink()
    if name == "events.jsonl":
        with pytest.raises(InputError, match=r"no events\.jsonl in it"):
            check_folder(run)
    else:
        assert any(problem.startswith(name) for problem in check_folder(run).problems)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", CHAINS)
def test_a_line_of_another_run_in_its_place(
    signed_runs: dict[str, Path], kind: str, name: str
) -> None:
    """Each is a good line, only not of this run."""
    (other,) = set(KINDS) - {kind}
    lines = split_lines((signed_runs[kind] / name).read_bytes())
    foreign = split_lines((signed_runs[other] / name).read_bytes())
    for place in range(min(len(lines), len(foreign))):
        mixed = [*lines[:place], foreign[place], *lines[place + 1 :]]
        with damaged(signed_runs[kind], name, b"".join(mixed)) as run:
            told = check_folder(run).problems[0]
        # Which of two neighbours that do not fit was replaced cannot always be told.
        assert told.startswith((f"{name} line {place + 1}: ", f"{name} line {place}: ")) or (
            place == 0 and told.startswith((f"{name} line 2: ", f"{name} line 1: "))
        ), told


def test_a_head_that_lags_as_after_a_power_cut_is_told_and_is_no_change(
    signed_runs: dict[str, Path], tmp_path: Path
) -> None:
    run = shutil.copytree(signed_runs["logged"], tmp_path / "run")
    head = (run / "review.head").read_bytes()
    append_decision(run, Decision("C-12", datetime.now(UTC), "stands", 3, None, ""))
    (run / "review.head").write_bytes(head)
    checked = check_folder(run)
    assert checked.problems == ()
    assert "review.head: does not know the last line yet" in checked.notices[0]


def test_a_line_that_was_set_aside_is_vouched_for(
    signed_runs: dict[str, Path], tmp_path: Path
) -> None:
    run = shutil.copytree(signed_runs["live"], tmp_path / "run")
    with (run / "review.jsonl").open("ab") as file:
        file.write(b'{"at":"2026')
    (told,) = check_folder(run).problems
    assert told.startswith("review.jsonl line 9: torn: it stops short")
    append_decision(run, Decision("C-12", datetime.now(UTC), "stands", 3, None, ""))
    assert check_folder(run).problems == ()
    check_named(run, "review.torn-1", b'{"at":"2025')
    (run / "review.torn-1").unlink()
    assert check_folder(run).problems == ("review.torn-1: missing",)


def test_a_torn_line_of_a_live_log_is_vouched_for(tmp_path: Path) -> None:
    """The log of a run that was broken off in the middle of a line, and resumed."""
    partial = tmp_path / "run.partial"
    partial.mkdir()
    facts = RunFacts("tiny", "Tiny", b"x: 1\n", "tiny.en", "1a" * 32, (), {"voxlog": "1"})
    LiveLog.create(partial / CHAINED, header_of(facts)).close()
    with (partial / CHAINED).open("ab") as file:
        file.write(b'{"record":"row')
    log, _ = LiveLog.take_up(partial / CHAINED, {}, 0)
    run = tmp_path / "run"
    finish_folder(run, log, facts, [], [])
    assert check_folder(run).problems == ()
    (run / "events.torn-1").write_bytes(b'{"record":"raw')
    assert check_folder(run).problems == ("events.torn-1: changed since it was set aside",)
    (run / "events.torn-1").unlink()
    assert check_folder(run).problems == ("events.torn-1: missing",)
