"""The voice with an output and a synthesiser that do as they are told."""

import threading
import time

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.voice import voice as module
from voxlog.voice.output import OutputError, Played
from voxlog.voice.speech import MISSING
from voxlog.voice.tone import tone
from voxlog.voice.voice import Spoken, Voice

RATE = 8_000


class Words:
    """Each letter is ten samples of its number."""

    rate = RATE

    def samples(self, text: str) -> NDArray[np.int16]:
        if text == "unspeakable":
            raise RuntimeError("no such phoneme")
        return np.repeat(np.array([ord(sign) for sign in text], dtype=np.int16), 10)


class Ear:
    """Keeps what was played; waits at the gate, fails on request."""

    def __init__(self) -> None:
        self.played: list[NDArray[np.int16]] = []
        self.rates: set[int] = set()
        self.gate = threading.Event()
        self.gate.set()
        self.failing = ""
        self.is_closed = False

    def play(self, samples: NDArray[np.int16], rate: int) -> Played:
        start = time.monotonic_ns()
        assert self.gate.wait(10)
        if self.failing:
            raise OutputError(self.failing)
        self.played.append(samples)
        self.rates.add(rate)
        return Played(start, time.monotonic_ns())

    def close(self) -> None:
        self.is_closed = True


def words_in(samples: NDArray[np.int16]) -> str:
    """The letters at the end of a sound; a tone has none, for it ends in a pause."""
    _, _, after = "".join(chr(max(0, number)) for number in samples[::10]).rpartition("\0")
    return after


def speaking(
    ear: Ear, *texts: tuple[str, str], words: Words | None = None
) -> tuple[list[Spoken], Voice]:
    told: list[Spoken] = []
    voice = Voice(ear, words, told.append)
    for kind, text in texts:
        (voice.advise if kind == "advice" else voice.answer)(text)
    ear.gate.set()
    voice.close()
    return told, voice


def test_advice_is_a_tone_and_words() -> None:
    ear = Ear()
    told, voice = speaking(ear, ("advice", "open"), words=Words())
    assert np.array_equal(ear.played[0][: len(tone(RATE))], tone(RATE))
    assert words_in(ear.played[0]) == "open"
    assert [(s.kind, s.text, s.has_words, s.fault) for s in told] == [("advice", "open", True, "")]
    assert voice.spans() == ((told[0].start_ns, told[0].end_ns),)
    [(began_ns, sound)] = voice.sounds()
    assert told[0].asked_ns <= began_ns <= told[0].start_ns
    assert len(sound) == len(ear.played[0]) * 16_000 // RATE
    assert ear.is_closed
    assert not voice.missing


def test_an_answer_is_words_alone() -> None:
    ear = Ear()
    speaking(ear, ("answer", "none"), words=Words())
    assert np.array_equal(ear.played[0], Words().samples("none"))


@pytest.mark.parametrize("kind", ["advice", "answer"])
def test_without_a_synthesiser_there_is_a_tone(kind: str) -> None:
    ear = Ear()
    told, voice = speaking(ear, (kind, "open: item 14"))
    (rate,) = ear.rates
    assert np.array_equal(ear.played[0][: len(tone(rate))], tone(rate))
    assert not told[0].has_words
    assert voice.missing == MISSING


@pytest.mark.parametrize("kind", ["advice", "answer"])
def test_what_cannot_be_said_is_a_tone_and_told(kind: str) -> None:
    ear = Ear()
    told, _ = speaking(ear, (kind, "unspeakable"), (kind, "next"), words=Words())
    assert [(s.has_words, s.fault) for s in told] == [
        (False, "no words: no such phoneme"),
        (True, ""),
    ]


def test_advice_goes_before_answers_that_wait() -> None:
    ear = Ear()
    ear.gate.clear()
    told: list[Spoken] = []
    voice = Voice(ear, Words(), told.append)
    voice.answer("first")
    while not voice.spans():  # it is being spoken
        time.sleep(0.001)
    voice.answer("second")
    voice.advise("gate")
    ear.gate.set()
    voice.close()
    assert [spoken.text for spoken in told] == ["first", "gate", "second"]


def test_what_is_being_spoken_has_a_span_that_ends_now() -> None:
    ear = Ear()
    ear.gate.clear()
    voice = Voice(ear, Words())
    voice.answer("long")
    while not voice.spans():
        time.sleep(0.001)
    ((start, end),) = voice.spans()
    ((again, later),) = voice.spans()
    assert start == again
    assert start < end < later
    ear.gate.set()
    voice.close()


def test_an_answer_that_is_too_late_is_not_spoken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "STALE_S", -1.0)
    ear = Ear()
    told, voice = speaking(ear, ("answer", "old"), ("advice", "gate"), words=Words())
    assert [(spoken.text, spoken.fault) for spoken in told] == [
        ("gate", ""),
        ("old", "it had to wait too long"),
    ] or [spoken.fault for spoken in told] == ["it had to wait too long", ""]
    assert len(voice.spans()) == len(ear.played) == 1


def test_a_failed_output_is_told_and_tried_again() -> None:
    ear = Ear()
    ear.failing = "device gone"
    told: list[Spoken] = []
    voice = Voice(ear, Words(), told.append)
    voice.advise("one")
    while not told:
        time.sleep(0.001)
    ear.failing = ""
    voice.advise("two")
    voice.close()
    assert [spoken.fault for spoken in told] == ["device gone", ""]
    assert len(voice.spans()) == 2  # a part of the first may have been heard


def test_a_log_that_fails_does_not_silence_it() -> None:
    ear = Ear()

    def fail(spoken: Spoken) -> None:
        raise OSError(28, "No space left on device")

    voice = Voice(ear, Words(), fail)
    voice.advise("one")
    voice.advise("two")
    voice.close()
    assert len(ear.played) == 2


def test_the_caller_never_waits() -> None:
    ear = Ear()
    ear.gate.clear()
    voice = Voice(ear, Words())
    start = time.monotonic()
    for n in range(1000):
        voice.answer(str(n))
    voice.advise("gate")
    assert time.monotonic() - start < 0.5
    voice.close(patience_s=0.01)
    assert ear.is_closed
    ear.gate.set()
