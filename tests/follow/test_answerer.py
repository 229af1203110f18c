"""Whose voice answered: what a row says of it, and what it must not say."""

from collections.abc import Sequence

import numpy as np
import pytest

from tests.follow.cases import CHECKS, utterance
from voxlog.follow.event import Event
from voxlog.follow.follower import follow
from voxlog.sheet.model import Item
from voxlog.speech.utterance import Utterance

POSITIONS = CHECKS.sheet.positions
ASKS = CHECKS.sheet.asks
ITEMS = [item for item in CHECKS.sheet.items if item.confirm and item.by != ASKS]


def print_of(position: str, seed: int) -> bytes:
    """A print as a position's voice might have: its own spectrum, a little different each time."""
    own = np.random.default_rng(list(POSITIONS).index(position)).normal(0, 20, 80)
    line = np.random.default_rng(1000 + seed).normal(0, 8, 80)
    return np.rint(np.clip(own + line, -127, 127)).astype(np.int8).tobytes()


def said(start: float, words: str, voice: str, seed: int, evidence: float = 5.0) -> Utterance:
    one = utterance(CHECKS, start, **{words.replace(" ", "_"): evidence})
    return Utterance(
        one.channel, one.start, one.end, one.bursts, one.text, one.heard,
        print_of(voice, seed) if voice else b"",
    )  # fmt: skip


def run(answered: dict[int, Sequence[str]], rounds: int = 6) -> list[Utterance]:
    """Every item asked and answered, so many times over; some in other voices than they should.

    answered: place of the exchange, from 0, to the voices of its answers.
    """
    every: list[Utterance] = []
    for place in range(rounds * len(ITEMS)):
        item, start = ITEMS[place % len(ITEMS)], 10.0 * place + 1
        every.append(said(start, item.ask[0], ASKS, len(every)))
        for number, voice in enumerate(answered.get(place, (item.by,))):
            every.append(said(start + 2 + 2 * number, item.confirm[0], voice, len(every)))
    return every


def rows(heard: list[Utterance], positions: dict[int, str] | None = None) -> list[Event]:
    events = follow(heard, CHECKS.sheet, CHECKS.phrases, heard[-1].end + 1, positions)
    return [row for row in events if row.kind == "item" and row.status != "skipped"]


def row_at(events: list[Event], place: int) -> Event:
    return next(row for row in events if row.start == 10.0 * place + 1)


LATE = 4 * len(ITEMS) + 1


def test_the_sheet_of_these_tests_has_more_than_one_to_answer() -> None:
    assert len({item.by for item in ITEMS}) > 1
    assert all(isinstance(item, Item) for item in ITEMS)


def test_as_it_should_be_who_answered_is_a_note_and_no_finding() -> None:
    found = rows(run({}))
    assert not [row for row in found if "self-answered" in row.flags]
    named = [row for row in found if "voice of" in row.note]
    assert len(named) > len(found) / 2
    assert all(f"voice of the {row.position}, p " in row.note for row in named)
    assert not [row for row in found if row.start < 60 and row.note]  # too little was heard


@pytest.mark.parametrize(
    ("voices", "is_flagged"),
    [
        ((ASKS,), True),
        ((ASKS, ASKS), True),
        (("",), False),  # too short for a voice
        ((ITEMS[LATE % len(ITEMS)].by, ASKS), False),  # who asked says the answer again
        ((ASKS, ""), False),
    ],
)
def test_an_answer_in_the_voice_that_asked(voices: tuple[str, ...], is_flagged: bool) -> None:
    found = rows(run({LATE: voices}))
    row = row_at(found, LATE)
    assert ("self-answered" in row.flags) is is_flagged
    assert (f"voice of the {ASKS}, not the {row.position}" in row.note) is is_flagged
    assert [r for r in found if "self-answered" in r.flags] == [row] * is_flagged
    assert row.status == "confirmed"


def test_another_position_that_answers_is_a_note_and_no_finding() -> None:
    item = ITEMS[LATE % len(ITEMS)]
    other = next(one.by for one in ITEMS if one.by not in (item.by, *item.stand_in))
    row = row_at(rows(run({LATE: (other,)})), LATE)
    assert f"voice of the {other}, not the {item.by}, p " in row.note
    assert "self-answered" not in row.flags


def test_an_answer_of_which_no_challenge_was_heard_is_not_self_answered() -> None:
    heard = run({LATE: (ASKS,)})
    asked = 10.0 * LATE + 1
    found = rows([one for one in heard if one.start != asked])
    assert not [row for row in found if "self-answered" in row.flags]


def test_on_a_channel_of_one_position_nothing_changes() -> None:
    heard = run({LATE: (ASKS,)})
    silent = [Utterance(o.channel, o.start, o.end, o.bursts, o.text, o.heard) for o in heard]
    positions = {0: ITEMS[0].by}
    assert rows(heard, positions) == rows(silent, positions)


def test_every_prefix_says_the_same_of_what_is_past() -> None:
    """So that a live log need not correct what it said of a voice."""
    heard = run({LATE: (ASKS,)})
    whole = {row.start: row for row in rows(heard)}
    for count in (40, 60, len(heard) - 20):
        for row in rows(heard[:count])[:-3]:
            later = whole[row.start]
            assert row.note == later.note
            assert ("self-answered" in row.flags) is ("self-answered" in later.flags)
