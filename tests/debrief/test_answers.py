import pytest

from tests.debrief.made import EVENTS, SAID, a_run
from voxlog.debrief.answers import Answer, answer_of
from voxlog.debrief.run import Said, SaidPhrase
from voxlog.follow.event import Event

ASK = SaidPhrase("challenge", "1", "intercom check")
YES = SaidPhrase("confirm", "1", "loud and clear")


def said(*parts: tuple[float, float, SaidPhrase], channel: int = 2) -> list[Said]:
    return [Said(channel, start, end, "", (phrase,)) for start, end, phrase in parts]


def item_row(start: float, end: float, heard: str) -> Event:
    return Event(start, end, "item", "ground", "1", "attendant", "confirmed", heard=heard)


BOTH = "intercom check / loud and clear"


@pytest.mark.parametrize(
    ("heard", "utterances", "delay"),
    [
        # From the end of the challenge to the start of the answer.
        (BOTH, said((2, 3, ASK), (3.4, 5, YES)), 0.4),
        # Asked twice: from the last challenge before the answer.
        (f"intercom check / {BOTH}", said((2, 3, ASK), (3.2, 4, ASK), (4.25, 5, YES)), 0.25),
        # Asked again after the answer: from the one before it.
        (f"intercom check / {BOTH}", said((2, 3, ASK), (3.5, 4, YES), (4.25, 5, ASK)), 0.5),
        # Talk between the two, by somebody else, is neither.
        (BOTH, said((2, 3, ASK), (3.1, 3.3, SaidPhrase("receipt", "", "roger")), (4, 5, YES)), 1.0),
        # Overlapping by a hair, or one breath parted in two: never below nothing.
        (BOTH, said((2, 3, ASK), (2.99, 5, YES)), 0.0),
        # A challenge or an answer not heard: not known.
        ("loud and clear", said((2, 5, YES)), None),
        ("intercom check", said((2, 5, ASK)), None),
        # Words of the row that no utterance has: not known either.
        (BOTH, said((2, 5, SaidPhrase("confirm", "4", "on and sealed"))), None),
    ],
)
def test_delay(heard: str, utterances: list[Said], delay: float | None) -> None:
    run = a_run([item_row(2, 5, heard)], utterances)
    found = answer_of(run, run.sheet.item(1), run.events[0]).delay_s
    assert found == (None if delay is None else pytest.approx(delay))


@pytest.mark.parametrize(
    ("positions", "answer"),
    [
        (("conductor", "attendant"), ("attendant", True, "")),
        (("conductor", "operator"), ("operator", True, "")),  # the stand-in
        (("attendant", "conductor"), ("attendant", False, "conductor")),  # it leaked, mostly
        (("", ""), ("attendant", False, "")),
        ((), ("attendant", False, "")),
    ],
)
def test_who_answered(positions: tuple[str, ...], answer: tuple[str, bool, str]) -> None:
    run = a_run(positions=positions)
    found = answer_of(run, run.sheet.item(1), EVENTS[0])
    assert (found.position, found.by_channel, found.heard_on) == answer


def test_an_item_without_words_was_answered_by_nobody() -> None:
    run = a_run()
    assert answer_of(run, run.sheet.item(3), EVENTS[2]) == Answer(None, "", by_channel=False)


def test_times_of_rows_and_utterances_may_differ_by_their_rounding() -> None:
    row = item_row(2.0004, 4.9996, BOTH)
    run = a_run([row], SAID[:2])
    assert answer_of(run, run.sheet.item(1), row).delay_s == pytest.approx(0.4)
