"""The tool's voice: advice with a tone, answers without; never in the way of whoever calls.

A thread of its own turns text into sound and plays it. Advice goes before answers. What could not
be said, for whatever reason, is reported as all else: whoever keeps the log writes it down.
"""

import itertools
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from queue import PriorityQueue
from typing import Final, Literal

import numpy as np
import soxr
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.voice.output import Output, OutputError
from voxlog.voice.speech import MISSING, Speech
from voxlog.voice.tone import silence, tone

__all__ = ["Spoken", "Voice"]

Kind = Literal["advice", "answer"]

STALE_S: Final = 6.0
"""An answer that had to wait so long is not spoken any more: it would be taken for another's."""

_PAUSE_S: Final = 0.15
_RATE_WITHOUT_SPEECH: Final = 24_000
_KEPT_SPANS: Final = 1000
_KEPT_SOUNDS: Final = 8


@dataclass(frozen=True, slots=True)
class Spoken:
    """What became of a text.

    asked_ns, start_ns, end_ns: time.monotonic_ns when it was asked for, began, and was over;
    without sound, start and end are when it was given up. fault: why it was not spoken, "" if it
    was; has_words: False where there was only the tone.
    """

    kind: Kind
    text: str
    asked_ns: int
    start_ns: int
    end_ns: int
    has_words: bool = True
    fault: str = ""


class Voice:
    """Speaks through one output.

    speech: None for a tone only; then `missing` is a line to show. on_spoken is called from the
    voice's thread, once for each text.
    """

    def __init__(
        self,
        output: Output,
        speech: Speech | None,
        on_spoken: Callable[[Spoken], None] = lambda _: None,
    ) -> None:
        self.missing = MISSING if speech is None else ""
        self._output = output
        self._speech = speech
        self._on_spoken = on_spoken
        self._rate = speech.rate if speech else _RATE_WITHOUT_SPEECH
        self._waiting: PriorityQueue[tuple[int, int, Kind, str, int]] = PriorityQueue()
        self._order = itertools.count()
        self._lock = threading.Lock()
        self._spans: list[tuple[int, int]] = []
        self._speaking_since: int | None = None
        self._sounds: deque[tuple[int, NDArray[np.int16]]] = deque(maxlen=_KEPT_SOUNDS)
        self._thread = threading.Thread(target=self._work, name="voice", daemon=True)
        self._thread.start()

    def advise(self, text: str) -> None:
        """A tone, then the words; before any answer that waits."""
        self._waiting.put((0, next(self._order), "advice", text, time.monotonic_ns()))

    def answer(self, text: str) -> None:
        """The words; the tone where there are no words, so that somebody looks at the screen."""
        self._waiting.put((1, next(self._order), "answer", text, time.monotonic_ns()))

    def spans(self) -> tuple[tuple[int, int], ...]:
        """When it spoke, (start, end) by time.monotonic_ns; what is being spoken ends now."""
        with self._lock:
            since = self._speaking_since
            current = () if since is None else ((since, time.monotonic_ns()),)
            return (*self._spans, *current)

    def sounds(self) -> tuple[tuple[int, NDArray[np.int16]], ...]:
        """The last sounds: when each began, by time.monotonic_ns, and its samples at 16 kHz."""
        with self._lock:
            return tuple(self._sounds)

    def close(self, patience_s: float = 10.0) -> None:
        """Says what waits, but for no longer than `patience_s`; then the output is closed."""
        self._waiting.put((2, next(self._order), "answer", "", 0))
        self._thread.join(patience_s)
        self._output.close()

    def _work(self) -> None:
        while True:
            last, _, kind, text, asked_ns = self._waiting.get()
            if last == 2:
                return
            spoken = self._speak(kind, text, asked_ns)
            try:
                self._on_spoken(spoken)
            except Exception:  # noqa: BLE001, S112 - the next advice must be spoken all the same
                continue

    def _speak(self, kind: Kind, text: str, asked_ns: int) -> Spoken:
        now = time.monotonic_ns()
        if kind == "answer" and now - asked_ns > STALE_S * 1e9:
            late = "it had to wait too long"
            return Spoken(kind, text, asked_ns, now, now, has_words=False, fault=late)
        words, fault = self._words(text)
        samples = self._sound(kind, words)
        known = np.asarray(soxr.resample(samples, self._rate, RATE), dtype=np.int16)
        with self._lock:
            self._speaking_since = time.monotonic_ns()
            self._sounds.append((self._speaking_since, known))
        try:
            start, end = self._output.play(samples, self._rate)
        except OutputError as error:
            start, end, fault = now, time.monotonic_ns(), str(error)
        with self._lock:
            self._speaking_since = None
            # A failed output may have made a part of the sound.
            self._spans = [*self._spans[1 - _KEPT_SPANS :], (start, end)]
        return Spoken(kind, text, asked_ns, start, end, has_words=len(words) > 0, fault=fault)

    def _words(self, text: str) -> tuple[NDArray[np.int16], str]:
        """The words as sound; none, and why, where the synthesiser is absent or fails."""
        nothing = np.zeros(0, dtype=np.int16)
        if self._speech is None:
            return nothing, ""
        try:
            return self._speech.samples(text), ""
        except Exception as error:  # noqa: BLE001 - others' code, on whatever text a sheet has
            return nothing, f"no words: {error}"

    def _sound(self, kind: Kind, words: NDArray[np.int16]) -> NDArray[np.int16]:
        if kind == "answer" and len(words):
            return words
        return np.concatenate([tone(self._rate), silence(_PAUSE_S, self._rate), words])
