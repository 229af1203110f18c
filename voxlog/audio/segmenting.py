"""The stage's table of contents: blocks -> less noise -> voice -> bursts -> segments with audio.

Works on a stream: what is held is one block, and the audio of speech that has not ended yet.
"""

from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.burst import FRAME, Burst, BurstFinder, BurstRules
from voxlog.audio.check import AudioCheck
from voxlog.audio.cross_talk import LeakRules, Voice, frame_power, own_bursts
from voxlog.audio.denoise import Denoiser
from voxlog.audio.recording import Recording
from voxlog.audio.segment import Joiner, JoinRules, Segment, moved
from voxlog.audio.store import AudioStore
from voxlog.audio.vad import Framer, SpeechDetector

__all__ = ["Segmenter", "SpeechRules", "segments"]

Speech = tuple[Segment, NDArray[np.float32]]
"""A segment and its own channel's samples from `start` to `end`, less the steady noise."""


class SpeechRules(NamedTuple):
    """All that decides where a segment begins and ends."""

    bursts: BurstRules = BurstRules()
    leaks: LeakRules = LeakRules()
    joining: JoinRules = JoinRules()


DEFAULT_RULES = SpeechRules()


def segments(
    recording: Recording,
    rules: SpeechRules = DEFAULT_RULES,
    check: AudioCheck | None = None,
    store: AudioStore | None = None,
    block_seconds: float = 30.0,
) -> Iterator[Speech]:
    """Yields a recording's speech in the order of its start, then channel.

    Args:
        recording: what to listen to.
        rules: where speech begins and ends.
        check: takes note of faults in the audio; ask it for warnings after the last segment.
        store: an open store that keeps the audio.
        block_seconds: audio held at a time; it changes no segment.

    Raises:
        InputError: the recording cannot be read to its end, or the store not written.
    """
    segmenter = Segmenter(recording.channels, rules)
    for block in recording.blocks(block_seconds, check):
        if store is not None:
            store.write(block)
        yield from segmenter.push(block)
    yield from segmenter.finish()


class Segmenter:
    """Segments of all channels of one recording, block by block, for a file or a microphone.

    Args:
        channels: how many.
        rules: where speech begins and ends.
        first: index of the first sample that it is given, where a recording is gone on with.
    """

    def __init__(self, channels: int, rules: SpeechRules = DEFAULT_RULES, first: int = 0) -> None:
        self._first = first
        self._audio = _Tail(channels)
        self._channels = [_Channel(number, rules) for number in range(channels)]
        self._denoisers = [Denoiser() for _ in range(channels)]
        self._leaks = rules.leaks
        self._held: list[Segment] = []

    @property
    def held_samples(self) -> int:
        """Samples a channel that are kept because speech in them may go on."""
        return self._audio.samples.shape[1]

    def push(self, block: NDArray[np.float32]) -> list[Speech]:
        """Takes the next block, shape (channels, n) at 16 kHz; returns what is now complete."""
        return self._push(_stack(map(Denoiser.push, self._denoisers, block)))

    def _push(self, block: NDArray[np.float32]) -> list[Speech]:
        """The same for audio without its steady noise."""
        self._audio.append(block)
        self._listen(block)
        until = min(channel.known_until for channel in self._channels)
        self._join(until)
        for channel in self._channels:
            self._held += channel.settle(until)
        ready = self._take_ready(min(channel.next_from(until) for channel in self._channels))
        self._forget(until)
        return ready

    def pending(self) -> list[Speech]:
        """Speech that is over but not returned yet: a count may go on, or its turn is not come.

        What is returned later may be this, or hold several of these.
        """
        waiting = [*self._held]
        for channel in self._channels:
            waiting += channel.joiner.pending()
        return list(map(self._placed, waiting))

    def perhaps_over(self) -> list[Speech]:
        """Speech after which there was a short silence: it will be `pending` if that goes on."""
        until = min(channel.known_until for channel in self._channels)
        ends = (channel.perhaps_over(until) for channel in self._channels)
        return [self._placed(one) for one in ends if one and one.end <= self._audio.end]

    def finish(self) -> list[Speech]:
        """Ends all speech that is still open and returns it."""
        ready = self._push(_stack(map(Denoiser.finish, self._denoisers)))
        for channel in self._channels:
            channel.finish_listening(self._audio.end)
        end = self._audio.end
        self._join(end + FRAME)
        for channel in self._channels:
            self._held += channel.finish_joining(end)
        return ready + self._take_ready(end)

    def _listen(self, block: NDArray[np.float32]) -> None:
        if len(self._channels) == 1:
            self._channels[0].listen(block[0])
            return
        with ThreadPoolExecutor(max_workers=2) as pool:
            list(pool.map(_Channel.listen, self._channels, block))

    def _join(self, until: int) -> None:
        """Hands the bursts that end by `until` on, less what leaked in from other channels."""
        voices = [channel.voice() for channel in self._channels]
        for number, channel in enumerate(self._channels):
            others = voices[:number] + voices[number + 1 :]
            for burst in channel.take_bursts(until):
                for own in own_bursts(burst, voices[number], others, self._leaks):
                    self._held += channel.joiner.push(own)

    def _take_ready(self, until: int) -> list[Speech]:
        """Segments before which none can come any more, in order."""
        self._held.sort(key=lambda segment: (segment.start, segment.channel))
        ready = [segment for segment in self._held if segment.start < until]
        self._held = self._held[len(ready) :]
        return list(map(self._placed, ready))

    def _placed(self, segment: Segment) -> Speech:
        return moved(segment, self._first), self._audio.cut(segment)

    def _forget(self, until: int) -> None:
        starts = [segment.start for segment in self._held]
        starts += [channel.next_from(until) for channel in self._channels]
        self._audio.forget(min(starts))
        for channel in self._channels:
            channel.forget(min(other.waiting_from(until) for other in self._channels))


def _stack(channels: Iterable[NDArray[np.float32]]) -> NDArray[np.float32]:
    return np.stack(list(channels))


class _Channel:
    """What one channel needs to remember between blocks."""

    def __init__(self, number: int, rules: SpeechRules) -> None:
        self.joiner = Joiner(number, rules.joining)
        self._lead = rules.joining.lead
        self._framer = Framer()
        self._detector = SpeechDetector()
        self._finder = BurstFinder(rules.bursts)
        self._bursts: list[Burst] = []  # as found, kept while another channel's may overlap them
        self._taken = 0  # so many of them were handed on
        self._power = _Tail(1)

    @property
    def known_until(self) -> int:
        return self._finder.known_until

    def listen(self, samples: NDArray[np.float32]) -> None:
        self._take_frames(self._framer.push(samples))

    def finish_listening(self, end: int) -> None:
        """Takes the last frame, which is filled up with silence beyond the recording's `end`."""
        self._take_frames(self._framer.finish())
        self._bursts += self._finder.finish()
        self._bursts = [Burst(burst.start, min(burst.end, end)) for burst in self._bursts]

    def voice(self) -> Voice:
        return Voice(tuple(self._bursts), self._power.samples[0], self._power.start)

    def take_bursts(self, until: int) -> list[Burst]:
        ready = [burst for burst in self._bursts[self._taken :] if burst.end <= until]
        self._taken += len(ready)
        return ready

    def waiting_from(self, until: int) -> int:
        """No burst that is not handed on yet begins before this sample."""
        waiting = self._bursts[self._taken :]
        return min(waiting[0].start, until) if waiting else until

    def settle(self, until: int) -> list[Segment]:
        return self.joiner.settle(self.waiting_from(until))

    def perhaps_over(self, until: int) -> Segment | None:
        return self.joiner.perhaps_over(self.waiting_from(until))

    def finish_joining(self, end: int) -> list[Segment]:
        return self.joiner.finish(end)

    def next_from(self, until: int) -> int:
        """No segment that is not returned yet starts before this sample."""
        pending = self.joiner.pending_from
        return self.waiting_from(until) - self._lead if pending is None else pending

    def forget(self, before: int) -> None:
        old = sum(burst.end <= before for burst in self._bursts[: self._taken])
        self._bursts = self._bursts[old:]
        self._taken -= old
        self._power.forget(before // FRAME)

    def _take_frames(self, frames: NDArray[np.float32]) -> None:
        self._power.append(frame_power(frames)[np.newaxis])
        self._bursts += self._finder.push(self._detector.probabilities(frames))


class _Tail:
    """The end of a long stream: samples (rows, n), of which the first has the index `start`."""

    def __init__(self, rows: int) -> None:
        self.start = 0
        self.samples = np.zeros((rows, 0), dtype=np.float32)

    @property
    def end(self) -> int:
        return self.start + self.samples.shape[1]

    def append(self, block: NDArray[np.float32]) -> None:
        self.samples = np.concatenate([self.samples, block], axis=1)

    def cut(self, segment: Segment) -> NDArray[np.float32]:
        part = slice(segment.start - self.start, segment.end - self.start)
        return self.samples[segment.channel, part].copy()

    def forget(self, before: int) -> None:
        if before > self.start:
            self.samples = self.samples[:, before - self.start :].copy()
            self.start = before
