"""A run being logged while it goes: what the threads of a recording share.

    intake thread   source -> journal (disk) -> samples that wait
    ear thread      samples -> segments -> utterances -> rows -> log, advice, answers
    voice thread    tone and words (voice/voice.py)
    main thread     the display, until the run is stopped; then `finish`

Audio waits for nothing. If listening falls behind, it goes on with the newest speech, says so, and
comes back to what it passed over when there is time, at the end at the latest.
"""

import threading
import time
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.audio.segmenting import Segmenter
from voxlog.capture.meter import swapped_channels
from voxlog.follow.event import Event
from voxlog.live.ask import answer
from voxlog.live.follower import LiveFollower
from voxlog.live.gate import Advice, Gatekeeper, still_open
from voxlog.live.glance import run_state
from voxlog.live.heard import HeardFile
from voxlog.live.hearing import Attempts, Hearing, News
from voxlog.live.intake import Intake
from voxlog.live.patch import said_by
from voxlog.live.provisional import Added, Change, Corrected
from voxlog.live.state import ChannelState, RunState
from voxlog.log.live_log import LiveLog, advice_record, note_record, row_record, spoken_record
from voxlog.speech.rejoin import Answered
from voxlog.voice.own_voice import is_own_sound, is_own_voice
from voxlog.voice.voice import Spoken, Voice

__all__ = ["Latency", "Session", "change_record", "rows_of"]

Floats = NDArray[np.float32]
Speech = tuple[Segment, Floats]

TAKE_S = 0.1
TICK_S = 0.5
BEHIND_S = 20.0
"""Audio not listened to yet from which on older speech is passed over."""
SHOWN_ROWS = 12
LATENCIES_KEPT = 10_000


class Latency(NamedTuple):
    """Of a stretch of speech: how long a row takes after it.

    voiced: seconds of voice in it. seconds: from its end until the first rows of it were in the
    log. settled: until the last search of it was over.
    """

    voiced: float
    seconds: float
    settled: float


class Session:
    """One run. `start` it, show `state()` now and then, and `finish` it after the intake stopped.

    Args:
        follower: with the rows of before, for a run that is taken up again.
        attempts: turn a segment and its samples into utterances, better ones each time.
        answered: hears a segment for what was just asked.
        intake: started.
        log: of the run.
        heard: where what is heard is taken down for whoever takes the run up again.
    """

    def __init__(
        self,
        follower: LiveFollower,
        attempts: Attempts,
        answered: Answered,
        intake: Intake,
        log: LiveLog,
        heard: HeardFile,
    ) -> None:
        self.latencies: deque[Latency] = deque(maxlen=LATENCIES_KEPT)
        self._follower = follower
        self._attempts = attempts
        self._intake = intake
        self._log = log
        self._heard = heard
        self._voice: Voice | None = None
        self._hearing = Hearing(attempts, answered)
        self._gates = Gatekeeper(follower.sheet, follower.judged)
        self._advice: Advice | None = None
        self._answer = ""
        self._newest: deque[Change] = deque(maxlen=SHOWN_ROWS)
        self._swapped: Mapping[int, str] = {}
        self._passed_over: deque[Speech] = deque()
        self._passed: set[Segment] = set()
        self._is_behind = False
        self._taken_s = 0.0
        self._heard_s = 0.0
        self._ticked_s = 0.0
        self._segmenter: Segmenter | None = None
        self._ear = threading.Thread(target=self._listen, name="ear", daemon=True)

    def start(self, voice: Voice | None = None) -> None:
        """Begin to listen. voice: speaks advice and answers; None for silence."""
        self._voice = voice
        self._ear.start()

    @property
    def is_over(self) -> bool:
        """Whether the source ended and all of it was listened to."""
        return not self._ear.is_alive()

    def finish(self) -> None:
        """Wait for the listener, and follow the whole run once more."""
        self._ear.join()
        self._report(self._follower.finish(self._intake.seconds))

    def spoken(self, spoken: Spoken) -> None:
        """Keep what the voice said, or why not; for the voice to call."""
        start, end = (
            round(max(0.0, self._intake.seconds_at(moment)) * RATE)
            for moment in (spoken.start_ns, spoken.end_ns)
        )
        if spoken.fault:
            self._log.append(note_record("warning", start, f"not spoken: {spoken.fault}"))
        else:
            self._log.append(spoken_record(start, end, spoken.text))

    def state(self) -> RunState:
        """What a display shows now."""
        events = self._follower.judged
        levels = self._intake.levels
        fault = self._intake.source_fault or self._log.fault
        positions = self._follower.positions
        channels = tuple(
            ChannelState(
                positions.get(n, f"channel {n + 1}"),
                level.rms_dbfs,
                level.warning or self._swapped.get(n, ""),
            )
            for n, level in enumerate(levels)
        )
        gate = still_open(self._follower.sheet, self._advice, events) if self._advice else ""
        recorder = RunState(
            channels=channels,
            recording=not fault,
            fault=fault,
            gate=gate,
            answer=self._answer,
            behind_s=self._behind_s,
        )
        now = self._intake.seconds
        newest = list(self._newest)
        return run_state(
            self._follower.sheet, events, now, list(self._follower.rows), newest, recorder
        )

    def _listen(self) -> None:
        """The ear's thread: until the intake is over and everything was listened to."""
        with threadpool_limits(1):
            while (samples := self._intake.take(TAKE_S)) is not None:
                with self._complaining():
                    self._take(samples)
            with self._complaining():
                self._hear_the_rest()

    def _hear_the_rest(self) -> None:
        if self._segmenter is not None:
            for segment, audio in self._segmenter.finish():
                self._hear_once(segment, audio)
        while self._passed_over:
            self._catch_up()

    @contextmanager
    def _complaining(self) -> Iterator[None]:
        """The recording goes on whatever fails in here."""
        try:
            yield
        except Exception as error:  # noqa: BLE001
            text = f"a stretch of speech was not listened to: {type(error).__name__}: {error}"
            self._log.append(note_record("warning", self._now(), text))

    def _take(self, samples: Floats) -> None:
        if self._segmenter is None:
            if not samples.shape[1]:
                return
            first = self._intake.first_sample
            self._taken_s = self._heard_s = self._ticked_s = first / RATE
            self._segmenter = Segmenter(len(samples), first=first)
        ready = self._segmenter.push(samples) if samples.shape[1] else []
        self._taken_s += samples.shape[1] / RATE
        speech = [*ready, *self._segmenter.pending()]
        for segment, audio in sorted(speech, key=lambda one: (one[0].start, one[0].channel)):
            self._heard_s = min(segment.end / RATE, self._taken_s)
            self._watch_backlog()
            self._hear_once(segment, audio)
        self._heard_s = self._taken_s
        self._watch_backlog()
        for segment, audio in self._segmenter.perhaps_over():
            self._begin(segment, audio)
        if self._heard_s - self._ticked_s >= TICK_S:
            self._ticked_s = self._heard_s
            self._report(self._follower.tick(self._heard_s))
        if not speech and self._passed_over and not self._is_behind:
            self._catch_up()

    @property
    def _behind_s(self) -> float:
        """Seconds recorded and not listened to; 0 before the first of them is taken."""
        is_begun = self._segmenter is not None
        return max(0.0, self._intake.seconds - self._heard_s) if is_begun else 0.0

    def _watch_backlog(self) -> None:
        """Say when listening falls behind, and when it is back."""
        behind_s = self._behind_s
        if self._is_behind and behind_s < BEHIND_S / 4:
            self._is_behind = False
            text = f"caught up; {len(self._passed_over)} stretches of speech are still to be heard"
            self._log.append(note_record("warning", self._now(), text))
        elif not self._is_behind and behind_s > BEHIND_S:
            self._is_behind = True
            text = f"listening is {behind_s:.0f} s behind; it goes on with the newest speech"
            self._log.append(note_record("warning", self._now(), text))

    def _hear_once(self, segment: Segment, audio: Floats) -> None:
        if self._hearing.is_known(segment) or segment in self._passed:
            return
        if self._is_ours(segment, audio):
            self._passed.add(segment)
        elif self._is_behind:
            self._passed.add(segment)
            self._passed_over.append((segment, audio))
            self._heard.passed_over(segment)
        else:
            try:
                self._tell_all(segment, self._hearing.hear(segment, audio))
            except Exception:
                self._passed.add(segment)  # to fail once is enough
                raise

    def _begin(self, segment: Segment, audio: Floats) -> None:
        """Listen ahead to what is not sure to be over, while the silence after it is waited for."""
        if self._is_behind or segment in self._passed or self._is_ours(segment, audio):
            return
        try:
            self._hearing.begin(segment, audio)
        except Exception:
            self._passed.add(segment)
            raise

    def _catch_up(self) -> None:
        segment, audio = self._passed_over.popleft()
        *_, heard = self._attempts(segment, audio)
        self._tell_all(segment, [News(heard)])

    def _is_ours(self, segment: Segment, audio: Floats) -> bool:
        """Whether it is the tool's own voice: where that spoke, and like what it said."""
        if self._voice is None:
            return False
        spans = [(self._place(start), self._place(end)) for start, end in self._voice.spans()]
        if not is_own_voice(segment, spans):
            return False
        sounds = [(self._place(start), sound) for start, sound in self._voice.sounds()]
        return is_own_sound(segment, audio, sounds)

    def _place(self, monotonic_ns: int) -> int:
        """The sample at 16 kHz at a moment of the machine's clock."""
        return round(self._intake.seconds_at(monotonic_ns) * RATE)

    def _tell_all(self, segment: Segment, news: Iterable[News]) -> None:
        """What was heard, to the follower; what comes of it, to log, voice and display.

        Nothing is said aloud before the last word on a stretch of speech is heard.
        """
        told_ns = 0
        for one in news:
            replaced = one.instead_of
            self._report(self._follower.push(*one.heard, instead_of=replaced, is_settled=False))
            told_ns = told_ns or time.monotonic_ns()
            self._heard.heard(segment, one)
        self._report(self._follower.tick(max(self._heard_s, segment.bursts[-1].end / RATE)))
        settled_ns = time.monotonic_ns()
        for advice in self._gates.advise(self._follower.judged):
            self._advice = advice
            numbers = [item.number for item in advice.open]
            self._log.append(advice_record(self._now(), advice.step, numbers, advice.text))
            if self._voice is not None:
                self._voice.advise(advice.text)
        self._answer_questions()
        self._watch_the_patch()
        voiced = sum(end - start for start, end in segment.bursts) / RATE
        end_ns = self._intake.monotonic_ns_at(segment.bursts[-1][1] / RATE)
        seconds, settled = ((ns - end_ns) / 1e9 for ns in (told_ns or settled_ns, settled_ns))
        self.latencies.append(Latency(voiced, seconds, settled))

    def _watch_the_patch(self) -> None:
        """Say, once, which channels carry another position's voice."""
        positions = self._follower.positions
        said = said_by(self._follower.utterances, self._follower.phrases, positions)
        found = swapped_channels(said, positions)
        for channel in found.keys() - self._swapped.keys():
            text = f"channel {channel + 1}: {found[channel]}"
            self._log.append(note_record("warning", self._now(), text))
        self._swapped = found

    def _answer_questions(self) -> None:
        for query in self._follower.take_questions():
            text = answer(query, self._follower.sheet, self._follower.judged, self._heard_s)
            if text:
                self._answer = text
                self._log.append(note_record("question", self._now(), f"{query.heard}: {text}"))
                if self._voice is not None:
                    self._voice.answer(text)

    def _report(self, changes: Sequence[Change]) -> None:
        records = [change_record(change) for change in changes]
        if records:
            self._log.append(*records)
            self._newest.extend(changes)

    def _now(self) -> int:
        return round(self._heard_s * RATE)


def rows_of(follower: LiveFollower) -> list[tuple[int, Event]]:
    """A follower's rows with their numbers, in order of time."""
    rows = [(row.number, row.event) for row in follower.rows]
    return sorted(rows, key=lambda row: (row[1].start, row[1].end, row[0]))


def change_record(change: Change) -> Mapping[str, Any]:
    """The line of the log for a change."""
    if isinstance(change, Added):
        return row_record(change.number, "added", change.event)
    if isinstance(change, Corrected):
        return row_record(change.number, "corrected", change.event)
    return row_record(change.number, "withdrawn")
