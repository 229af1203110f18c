"""What holds for every run, whatever was said; the single cases are the scenarios."""

import time
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.follow.cases import CHECKS, FLIGHT, utterance
from tests.follow.scenario import Listed
from voxlog.follow.event import FLAGS, Event
from voxlog.follow.follower import follow, judge_run
from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.phrases import Phrase, sheet_phrases
from voxlog.speech.utterance import Heard, Sayable, Utterance

END = 2000.0


def run(known: Listed, said: list[Utterance], **more: object) -> list[Event]:
    return follow(said, known.sheet, known.phrases, END, **more)


@st.composite
def runs(draw: st.DrawFn) -> tuple[Listed, list[Utterance]]:
    """Up to thirty utterances, each with up to five things it may have been, and no sense."""
    known = draw(st.sampled_from([CHECKS, FLIGHT]))
    random = np.random.default_rng(draw(st.integers(0, 10_000)))
    said, start = [], 1.0
    for _ in range(draw(st.integers(0, 30))):
        places = random.integers(0, len(known.said), random.integers(0, 6))
        heard = [Heard(known.said[place], float(random.normal(1, 5))) for place in places]
        length = float(random.uniform(0.2, 3))
        said.append(
            Utterance(
                channel=0,
                start=start,
                end=start + length,
                bursts=((start, start + length),),
                text="some words",
                heard=tuple(sorted(heard, key=lambda one: -one.evidence)),
            )
        )
        start += length + float(random.uniform(0, 20))
    return known, said


@given(runs())
def test_every_run_has_a_whole_log(case: tuple[Listed, list[Utterance]]) -> None:
    known, said = case
    events = run(known, said)
    assert events == sorted(events, key=lambda event: (event.start, event.end))
    for event in events:
        assert 0 <= event.start <= event.end <= END
        assert 0 <= event.p <= 1
        assert list(event.flags) == [flag for flag in FLAGS if flag in event.flags]
    # Every step of the sheet has a row, and so has every utterance.
    rows = {(event.kind, event.item) for event in events}
    for _, step in known.sheet.steps:
        assert ("item" if isinstance(step, Item) else "cue", step.key) in rows
    for one in said:
        assert any(event.start <= one.end and one.start <= event.end for event in events)


@given(runs())
def test_the_same_run_gives_the_same_log(case: tuple[Listed, list[Utterance]]) -> None:
    known, said = case
    assert run(known, said) == run(known, said)


def test_a_silent_recording_has_only_skipped_rows_at_its_end() -> None:
    for known in (CHECKS, FLIGHT):
        events = run(known, [])
        assert {(event.status, event.start) for event in events} == {("skipped", END)}
        assert len(events) == len(known.sheet.steps)
        talk = [utterance(known, start, start + 3.0) for start in np.arange(END - 60, END - 4, 5)]
        in_talk = [event for event in run(known, talk) if event.status == "skipped"]
        assert len(in_talk) == len(events)
        assert min(event.p for event in events) > 0.8 > max(event.p for event in in_talk)


@pytest.mark.parametrize(
    ("talk", "status"),
    [({}, "skipped"), ({"dump_valve": -6.0}, "skipped"), ({"dump_valve": -2.5}, "unconfirmed")],
)
def test_talk_that_is_like_the_item_due_was_its_challenge(
    talk: dict[str, float], status: str
) -> None:
    said = [
        utterance(CHECKS, 1.0, intercom_check=6.0),
        utterance(CHECKS, 3.0, loud_and_clear=6.0),
        utterance(CHECKS, 8.0, oxygen_supply_pressure=6.0),
        utterance(CHECKS, 11.0, eighteen_hundred=6.0),
        utterance(CHECKS, 14.0, **{**talk, "stand_by": -5.0}),
        utterance(CHECKS, 18.0, mask_hose_connected=6.0),
        utterance(CHECKS, 20.0, hose_connected=6.0),
    ]
    rows = judge_run(said, CHECKS.sheet, CHECKS.phrases, END)
    row = next(event for event in rows if event.item == "3")
    assert row.status == status
    assert (row.p > 0.95) == (status == "skipped")


@pytest.mark.parametrize(
    ("answer", "later", "status", "heard"),
    [
        # Nothing else answered: what may have been in the breath of the challenge did.
        ({"hose_connected": -3.0}, {}, "confirmed", "mask hose connected / hose connected"),
        ({"not_connected": -2.0}, {}, "negative", "mask hose connected / not connected"),
        # Too little of it, and it leaves no row either.
        ({"hose_connected": -5.0}, {}, "unconfirmed", "mask hose connected"),
        # Something did: nothing was said in that breath.
        (
            {"hose_connected": -2.0},
            {"not_connected": 6.0},
            "negative",
            "mask hose connected / not connected",
        ),
    ],
)
def test_an_answer_surmised_in_a_breath_counts_where_no_other_is_heard(
    answer: dict[str, float], later: dict[str, float], status: str, heard: str
) -> None:
    said = [
        utterance(CHECKS, 18.0, end=20.0, mask_hose_connected=6.0),
        replace(utterance(CHECKS, 19.4, end=20.0, **answer), surmised=True),
        *([utterance(CHECKS, 21.0, **later)] if later else []),
    ]
    rows = judge_run(said, CHECKS.sheet, CHECKS.phrases, END)
    row = next(event for event in rows if "mask hose" in event.heard)
    assert (row.status, row.heard) == (status, heard)
    assert not [event for event in rows if event.kind == "note"]


ITEMS, TIMES = 500, 10
WORDS = ("valve", "hatch", "mask", "pump", "gauge", "hose", "seat", "lamp", "strap", "door")


def large_sheet() -> Sheet:
    """500 items, each with its own words."""
    names = [" ".join(words) for words in product(WORDS, repeat=3)][:ITEMS]
    steps = [
        {"item": n + 1, "ask": f"check {name}", "by": "b", "confirm": f"{name} good", "deny": "no"}
        for n, name in enumerate(names)
    ]
    return Sheet.model_validate(
        {
            "voxlog-sheet": 1,
            "id": "large",
            "title": "Large",
            "source": "invented for tests",
            "positions": {"a": "A", "b": "B"},
            "asks": "a",
            "phases": [{"id": "all", "title": "All", "steps": steps}],
        }
    )


def large_run(phrases: Sequence[Phrase]) -> list[Utterance]:
    """Every item asked and answered, ten times over; each utterance may have been 24 things."""
    random = np.random.default_rng(3)
    words = [n for n, phrase in enumerate(phrases) if phrase.act in ("affirm", "negative")]
    asks = [n for n, phrase in enumerate(phrases) if phrase.act == "challenge"]
    said, start = [], 0.0
    for phrase in [n + part for _ in range(TIMES) for n in asks for part in (0, 1)]:
        others = [*words, *random.integers(0, len(phrases), 24 - len(words) - 1)]
        heard = [Heard(Sayable(phrases[phrase].text, phrase), 9.0)]
        heard += [Heard(Sayable(phrases[n].text, int(n)), -3.0) for n in others if n != phrase]
        said.append(Utterance(0, start, start + 1, ((start, start + 1),), "", tuple(heard)))
        start += 2.0
    return said


@pytest.mark.slow
def test_ten_thousand_utterances_against_five_hundred_items() -> None:
    """In under 3 s of one core, and right."""
    sheet = large_sheet()
    phrases = sheet_phrases(sheet)
    said = large_run(phrases)
    seconds = []
    for _ in range(3):
        started = time.process_time()
        events = follow(said, sheet, phrases, END * 100)
        seconds.append(time.process_time() - started)
    assert [event.item for event in events] == [str(n + 1) for n in range(ITEMS)] * TIMES
    assert {event.status for event in events} == {"confirmed"}
    assert min(seconds) < 3
