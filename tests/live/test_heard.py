"""What was heard is known again to a run that is taken up, and what is not sure is heard again."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.live.small import listed, said
from voxlog.audio import RATE
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.live.heard import HeardFile, read_heard
from voxlog.live.hearing import News
from voxlog.speech.utterance import Utterance

PHRASES = listed().phrases


def segment(start: float, end: float, channel: int = 0) -> Segment:
    first, last = round(start * RATE), round(end * RATE)
    return Segment(channel, first, last, (Burst(first + 1600, last - 1600),))


def around(one: Utterance) -> Segment:
    return segment(one.start - 0.1, one.end + 0.1, one.channel)


def asked(start: float, channel: int = 0) -> Utterance:
    return said(start, "intercom check", channel=channel)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "heard.jsonl"


def test_everything_of_an_utterance_comes_back(path: Path) -> None:
    """But for the last ten seconds, which are to be listened to again."""
    every = [
        asked(1.0),
        replace(said(4.0, "one eight hundred psi", 3.25), voice=bytes(range(80))),
        said(9.0, "", text="what?"),
        replace(said(9.5, "loud and clear"), surmised=True),
    ]
    file = HeardFile(path)
    for one in [*every, asked(30.0)]:
        file.heard(around(one), News((one,)))
    before = read_heard(path, PHRASES)
    assert list(before.utterances) == every
    assert every[-1].end < before.until / RATE < 30.0


def test_what_was_replaced_is_gone(path: Path) -> None:
    half, whole = asked(1.0), said(1.0, "oxygen supply")
    file = HeardFile(path)
    file.heard(around(half), News((half,)))
    file.heard(around(whole), News((whole,), instead_of=(half,)))
    file.heard(segment(40, 41), News())
    assert read_heard(path, PHRASES).utterances == (whole,)


@pytest.mark.parametrize(
    ("waiting", "heard_later", "until"),
    [
        ((), (), 30.0),
        # What was passed over is listened to again, with all that came after.
        ((segment(20, 22),), (), 20.0),
        ((segment(20, 22),), (segment(20, 22),), 30.0),
        # Nothing is cut in two: not speech on another channel, nor what that overlaps.
        ((), (segment(28, 31, 1),), 28.0),
        ((), (segment(28, 31, 1), segment(26, 29, 2)), 26.0),
    ],
)
def test_where_the_audio_is_listened_to_again(
    waiting: tuple[Segment, ...], heard_later: tuple[Segment, ...], until: float, path: Path
) -> None:
    file = HeardFile(path)
    for one in waiting:
        file.passed_over(one)
    for one in (segment(1, 3), segment(38, 40), *heard_later):
        file.heard(one, News())
    assert read_heard(path, PHRASES).until / RATE == until


@pytest.mark.parametrize(
    ("broken", "known"),
    [
        (lambda lines: [*lines[:-1], lines[-1][:-9]], 3),
        (lambda lines: [*lines[:2], b"\0\0\0\n", *lines[2:]], 2),
        (lambda lines: [*lines[:1], b'{"segment": [0, 1, 2]}\n', *lines[1:]], 1),
        (lambda lines: [*lines[:1], b"[]\n", *lines[1:]], 1),
        (lambda lines: [lines[0].replace(b'check", 0', b'check", 9999'), *lines[1:]], 0),
        (lambda lines: [], 0),
    ],
    ids=["torn", "a bad block", "no utterances", "another form", "of another sheet", "empty"],
)
def test_a_line_that_cannot_be_read_ends_it(broken: object, known: int, path: Path) -> None:
    file = HeardFile(path)
    for start in (20.0, 40.0, 60.0, 80.0):
        file.heard(around(asked(start)), News((asked(start),)))
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(broken(lines)))  # type: ignore[operator]
    # The last that is known is not sure.
    assert len(read_heard(path, PHRASES).utterances) == max(0, known - 1)


def test_without_the_file_all_is_listened_to_again(path: Path) -> None:
    assert read_heard(path, PHRASES) == ((), 0)
