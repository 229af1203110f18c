"""From segments to utterances: pieces of the demonstration recording."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.sheet.phrases import Phrase, Slot
from voxlog.speech.evidence import Marks
from voxlog.speech.lockstep import in_lockstep
from voxlog.speech.model import SpeechModel
from voxlog.speech.reading import Reading
from voxlog.speech.recognise import Recogniser, _Piece
from voxlog.speech.rejoin import Listened
from voxlog.speech.search import Ending
from voxlog.speech.utterance import Utterance

Floats = NDArray[np.float32]
RATE = 16_000


def seconds(*bursts: tuple[float, float]) -> list[tuple[int, int]]:
    return [(round(start * RATE), round(end * RATE)) for start, end in bursts]


PRESSURE = Slot("number", "psi", 1000, 2500, 50)
SATURATION = Slot("number", "%", 60, 100, 1)
LEVEL = Slot("altitude", "ft", 1000, 30_000, 1000)

PHRASES = (
    Phrase("intercom check", "challenge", "1"),
    Phrase("loud and clear", "confirm", "1"),
    Phrase("oxygen supply pressure", "challenge", "2"),
    Phrase("{value}", "value", "2", slot=PRESSURE),
    Phrase("oxygen regulator", "challenge", "5"),
    Phrase("on one hundred", "confirm", "5"),
    Phrase("regulator off", "deny", "5"),
    Phrase("mask hose connected", "challenge", "6"),
    Phrase("connected", "confirm", "6"),
    Phrase("not connected", "deny", "6"),
    Phrase("helmet and visor", "challenge", "7"),
    Phrase("visor down and locked", "confirm", "7"),
    Phrase("visor up", "deny", "7"),
    Phrase("subject saturation {value}", "reading", "saturation", slot=SATURATION),
    Phrase("passing {value}", "callout", "climb", others=("conductor",), slot=LEVEL),
    Phrase("{value}", "callout", "climb", others=("operator",), slot=LEVEL),
    Phrase("recovered saturation", "challenge", "17"),
    Phrase("start the descent", "challenge", "18"),
    Phrase("roger", "receipt"),
)

Listen = Callable[..., tuple[Utterance, ...]]


@pytest.fixture(scope="module")
def recogniser(model: SpeechModel, tmp_path_factory: pytest.TempPathFactory) -> Recogniser:
    return Recogniser(model, PHRASES, tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="module")
def listen(recogniser: Recogniser, demo: Callable[[float, float], Floats]) -> Listen:
    """Recognises bursts of the demonstration recording, given in seconds."""

    def utterances(*bursts: tuple[float, float]) -> tuple[Utterance, ...]:
        first, last = bursts[0][0] - 0.1, bursts[-1][1] + 0.1
        samples = tuple(Burst(*burst) for burst in seconds(*bursts))
        segment = Segment(3, round(first * RATE), round(last * RATE), samples)
        return recogniser.utterances(segment, demo(first, last))

    return utterances


@pytest.mark.parametrize(
    ("bursts", "words"),
    [
        # Where the voices are by the truth of the recording: challenges, answers, a receipt.
        ([(2.62, 3.87)], "intercom check"),
        ([(25.5, 26.8)], "mask hose connected"),
        ([(27.52, 28.32)], "not connected"),
        ([(29.9, 31.3)], "helmet and visor"),
        ([(36.9, 37.7)], "roger"),
        ([(199.5, 200.8)], "start the descent"),
    ],
)
def test_a_phrase_is_heard(listen: Listen, bursts: list[tuple[float, float]], words: str) -> None:
    (utterance,) = listen(*bursts)
    best, *others = utterance.heard
    assert best.sayable.text == words
    assert best.evidence > 0
    assert all(best.evidence - one.evidence > 1 for one in others)


@pytest.mark.parametrize(
    ("bursts", "value"),
    [([(126.6, 129.1)], 80.0), ([(215.2, 217.1)], 95.0), ([(162.03, 163.9)], 81.0)],
)
def test_a_number_is_heard(listen: Listen, bursts: list[tuple[float, float]], value: float) -> None:
    (utterance,) = listen(*bursts)
    assert utterance.heard[0].sayable.value == value


def test_the_opposite_of_an_answer_competes_and_loses(listen: Listen) -> None:
    """ "Not connected" was said; "connected" is in what was said, and must not win."""
    (utterance,) = listen((27.52, 28.32))
    evidence = {one.sayable.text: one.evidence for one in utterance.heard}
    assert evidence["not connected"] > evidence.get("connected", -99.0) + 2


def test_talk_with_an_items_words_is_none_of_its_phrases(listen: Listen) -> None:
    """ "The mask hose was new last week"."""
    for utterance in listen((22.24, 24.0)):
        assert "last week" in utterance.text.lower()
        assert all(one.evidence < 0 for one in utterance.heard)


def test_two_phrases_in_a_breath_are_two_utterances(listen: Listen) -> None:
    """A challenge and its answer, 0.2 s apart, heard as one segment."""
    asked, answered = listen((16.9, 18.5), (18.69, 19.55))
    assert asked.heard[0].sayable.text == "oxygen regulator"
    assert answered.heard[0].sayable.text == "on one hundred"
    assert (asked.start, asked.end) == pytest.approx((16.9, 18.5), abs=0.001)
    assert (answered.start, answered.end) == pytest.approx((18.69, 19.55), abs=0.001)
    assert asked.text == answered.text


@pytest.mark.parametrize(
    ("bursts", "values"),
    [
        # "Passing five thousand", "five thousand", 0.1 s apart.
        ([(57.25, 59.07), (59.17, 60.42)], [5000.0, 5000.0]),
        # The callouts alone, and one that is said slowly: flight level one hundred.
        ([(57.25, 59.07)], [5000.0]),
        ([(72.29, 74.72)], [10_000.0]),
    ],
)
def test_what_is_read_back_at_once_is_heard_too(
    listen: Listen, bursts: list[tuple[float, float]], values: list[float]
) -> None:
    assert [one.heard[0].sayable.value for one in listen(*bursts)] == values


def test_an_utterance_says_where_it_was(listen: Listen) -> None:
    (utterance,) = listen((2.62, 3.3), (3.45, 3.87))
    assert (utterance.channel, utterance.start, utterance.end) == (3, 2.62, 3.87)
    assert utterance.bursts == ((2.62, 3.3), (3.45, 3.87))


def test_what_it_may_have_been_stands_once_and_in_order(listen: Listen) -> None:
    for utterance in (*listen((215.2, 217.1)), *listen((16.9, 18.5), (18.69, 19.55))):
        keys = [(one.sayable.phrase, one.sayable.value) for one in utterance.heard]
        assert len(set(keys)) == len(keys)
        evidence = [one.evidence for one in utterance.heard]
        assert evidence == sorted(evidence, reverse=True)


def test_threads_do_not_disturb_each_other(listen: Listen) -> None:
    pieces = [(2.62, 3.87), (25.5, 26.8), (27.52, 28.32), (29.9, 31.3)]
    singly = [listen(piece) for piece in pieces]
    with ThreadPoolExecutor(2) as pool:
        together = list(pool.map(listen, pieces))
    assert [[u.heard[0].sayable for u in one] for one in together] == [
        [u.heard[0].sayable for u in one] for one in singly
    ]


def test_side_by_side_is_one_after_the_other(listen: Listen) -> None:
    pieces = [(2.62, 3.87), (25.5, 26.8), (27.52, 28.32), (29.9, 31.3)]
    singly = [listen(piece) for piece in pieces]
    together, again = (in_lockstep([partial(listen, one) for one in pieces]) for _ in range(2))
    assert together == again
    for alone, beside in zip(singly, together, strict=True):
        assert [one.heard[0].sayable for one in beside] == [one.heard[0].sayable for one in alone]
        assert [one.heard[0].evidence for one in beside] == pytest.approx(
            [one.heard[0].evidence for one in alone], abs=1e-3
        )


@pytest.mark.parametrize("level", [0.0, 0.01])
def test_silence_and_hiss_are_no_phrase(recogniser: Recogniser, level: float) -> None:
    hiss = np.random.default_rng(2).standard_normal(24_000).astype(np.float32) * level
    segment = Segment(0, 0, 24_000, (Burst(1600, 22_400),))
    for utterance in recogniser.utterances(segment, hiss):
        assert all(one.evidence < 0 for one in utterance.heard)


def test_unclear_speech_is_told_before_the_long_search(recogniser: Recogniser) -> None:
    hiss = np.random.default_rng(2).standard_normal(24_000).astype(np.float32) * 0.01
    segment = Segment(0, 0, 24_000, (Burst(1600, 22_400),))
    quick, long = recogniser.attempts(segment, hiss)
    assert long == recogniser.utterances(segment, hiss)
    assert {one.text for one in quick} == {one.text for one in long}
    assert quick[0].heard[0].evidence <= long[0].heard[0].evidence < 0


def test_clear_speech_is_told_once(
    recogniser: Recogniser, demo: Callable[[float, float], Floats]
) -> None:
    segment = Segment(0, 0, round(1.45 * RATE), (Burst(1600, round(1.35 * RATE)),))
    assert len(list(recogniser.attempts(segment, demo(2.52, 3.97)))) == 1


def test_what_was_just_asked_is_listened_for_by_name(
    recogniser: Recogniser, listen: Listen, demo: Callable[[float, float], Floats]
) -> None:
    """Of hiss the search keeps other phrases; after its challenge the answers are weighed too."""
    asked = Segment(0, 0, 24_000, (Burst(1600, 22_400),))
    challenge = Listened(asked, demo(16.8, 18.3), listen((16.9, 18.2)))
    hiss = np.random.default_rng(3).standard_normal(19_200).astype(np.float32) * 0.02
    where = Segment(0, 400_000, 419_200, (Burst(401_600, 417_600),))
    alone = Listened(where, hiss, recogniser.utterances(where, hiss))
    answered = recogniser.with_answers(alone, [challenge])
    named = {"on one hundred", "regulator off", "roger"}

    def words(one: Listened) -> set[str]:
        return {heard.sayable.text for heard in one.utterances[0].heard}

    assert challenge.words == ("oxygen regulator",)
    assert not named <= words(alone)
    assert words(answered) == words(alone) | named
    assert all(heard.evidence < 0 for heard in answered.utterances[0].heard)
    assert recogniser.with_answers(alone, []) is alone


WHOLE = Segment(0, 14_400, 49_600, (Burst(16_000, 32_000), Burst(35_000, 48_000)))


def reading(recogniser: Recogniser, words: str, evidence: float) -> Reading:
    """Of a phrase, as if it had been found with this evidence."""
    ends = recogniser._vocabulary.ends
    node = next(node for node, said in ends.items() if said[0].text == words)
    ending = Ending(node, evidence, 0.0, 0, np.zeros((1, 1), np.float32))
    return Reading((ending,), Marks(evidence, 0.0, 0.0), evidence, evidence)


def hears(
    monkeypatch: pytest.MonkeyPatch,
    recogniser: Recogniser,
    readings_of: Callable[[int], list[Reading]],
) -> None:
    """Readings as if they had been found in audio of so many samples, their words all over it."""
    nothing = np.zeros((1, 1), np.float32)

    def heard(segment: Segment, audio: Floats) -> Iterator[_Piece]:
        assert len(audio) == segment.end - segment.start
        yield _Piece(segment, nothing, "words", readings_of(len(audio)))

    def begins(encoded: Floats, words: list[str], seconds: float) -> Floats:
        return np.linspace(0, seconds, len(words) + 1, dtype=np.float32)

    monkeypatch.setattr(recogniser, "_heard", heard)
    monkeypatch.setattr(recogniser._model, "begins", begins)


@pytest.mark.parametrize(
    ("whole", "left", "right", "expected"),
    [
        # A challenge that is over before the pause: what follows is something else, if unclear.
        (("mask hose connected", 6.0), ("mask hose connected", 6.0), ("connected", 2.0), 2),
        (("mask hose connected", 6.0), ("mask hose connected", 3.1), ("connected", -2.0), 2),
        (("mask hose connected", 6.0), ("mask hose connected", 6.0), ("visor up", -5.0), 2),
        # It is much less clear without the rest, or is none of the sheet's phrases.
        (("mask hose connected", 6.0), ("mask hose connected", 2.9), ("connected", -0.1), 1),
        (("mask hose connected", -3.0), ("mask hose connected", -0.1), ("connected", 6.0), 1),
        # Other phrases than in the whole: both are to be clear, and clearer than it.
        (("mask hose connected", 4.0), ("helmet and visor", 6.0), ("visor up", -0.1), 1),
        (("mask hose connected", 4.0), ("helmet and visor", 3.0), ("visor up", 3.0), 2),
        (("mask hose connected", 4.0), ("helmet and visor", 3.0), ("visor up", 1.0), 1),
        (("mask hose connected", 4.0), ("roger", 3.0), ("connected", 3.0), 1),
        # The whole has words for all of its voice.
        (("helmet and visor", 2.0), ("loud and clear", 6.0), ("roger", 6.0), 2),
        (("subject saturation seventy seven", 2.0), ("loud and clear", 6.0), ("roger", 6.0), 1),
    ],
)
def test_a_quick_answer_is_parted_from_its_challenge(
    recogniser: Recogniser,
    monkeypatch: pytest.MonkeyPatch,
    whole: tuple[str, float],
    left: tuple[str, float],
    right: tuple[str, float],
    expected: int,
) -> None:
    found = {3_520: whole, 1_910: left, 1_610: right}
    hears(monkeypatch, recogniser, lambda samples: [reading(recogniser, *found[samples // 10])])
    heard = recogniser.utterances(WHOLE, np.zeros(35_200, np.float32))
    assert len(heard) == expected
    assert heard[0].start == 1.0
    assert heard[-1].end == 3.0


@pytest.mark.parametrize(
    ("answer", "next_asked", "expected"),
    [
        (5.0, 6.0, ["mask hose connected", "connected", "helmet and visor"]),
        (5.0, -0.1, ["mask hose connected", "connected"]),
        (-0.1, 6.0, ["mask hose connected", "connected"]),
    ],
)
def test_the_next_challenge_is_parted_from_a_quick_answer(
    recogniser: Recogniser,
    monkeypatch: pytest.MonkeyPatch,
    answer: float,
    next_asked: float,
    expected: list[str],
) -> None:
    whole = Segment(
        0, 14_400, 80_000, (Burst(16_000, 33_600), Burst(41_600, 54_400), Burst(60_800, 78_400))
    )
    found = {
        65_600: ("mask hose connected", 2.0),
        23_200: ("mask hose connected", 6.0),
        42_400: ("connected", 4.0),
        20_000: ("connected", answer),
        22_400: ("helmet and visor", next_asked),
    }
    hears(monkeypatch, recogniser, lambda samples: [reading(recogniser, *found[samples])])
    heard = recogniser.utterances(whole, np.zeros(65_600, np.float32))
    assert [one.heard[0].sayable.text for one in heard] == expected
    assert heard[-1].end == 4.9


def test_an_answer_that_the_whole_has_is_not_lost_by_parting(
    recogniser: Recogniser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The challenge is clearer before the pause, and what follows is by itself nothing at all."""
    asked = reading(recogniser, "mask hose connected", 5.5)
    answer = reading(recogniser, "connected", -4.5)
    both = replace(
        asked,
        endings=asked.endings + answer.endings,
        marks=Marks(0, 0, 0, answered=1),
        evidence=0.8,
    )
    found = {3_520: both, 1_910: asked, 1_610: answer}
    hears(monkeypatch, recogniser, lambda samples: [found[samples // 10]])
    heard = recogniser.utterances(WHOLE, np.zeros(35_200, np.float32))
    assert [one.heard[0].evidence for one in heard] == [0.8, 0.8]


@pytest.mark.parametrize(
    ("alone", "answered", "surmised"),
    [
        (6.0, {"connected": 4.5, "not connected": 2.0}, {"connected": -3.0, "not connected": -5.5}),
        # Too far behind; to no challenge that was heard; of another item.
        (6.0, {"connected": 2.5}, None),
        (-1.0, {"connected": -2.0}, None),
        (6.0, {"visor up": 4.5}, None),
    ],
)
def test_an_answer_that_may_be_in_the_breath_of_its_challenge_is_surmised(
    recogniser: Recogniser,
    monkeypatch: pytest.MonkeyPatch,
    alone: float,
    answered: dict[str, float],
    surmised: dict[str, float] | None,
) -> None:
    asked = reading(recogniser, "mask hose connected", alone)
    both = [
        replace(asked, endings=asked.endings + reading(recogniser, answer, 0.0).endings, evidence=e)
        for answer, e in answered.items()
    ]
    hears(monkeypatch, recogniser, lambda _: [asked, *both])
    segment = Segment(0, 14_400, 49_600, (Burst(16_000, 48_000),))
    first, *rest = recogniser.utterances(segment, np.zeros(35_200, np.float32))
    assert not first.surmised
    assert first.end == 3.0
    found = {one.sayable.text: one.evidence for last in rest if last.surmised for one in last.heard}
    assert found == (surmised or {})
    assert len(rest) == (surmised is not None)
    assert all(first.start < last.start < last.end == first.end for last in rest)
