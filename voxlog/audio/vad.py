"""Is this frame speech? Silero's voice activity model, as faster-whisper brings it, on a stream.

faster-whisper's own call takes a whole recording and forgets its state between two calls. Here the
state of the network and the last 64 samples go from block to block, so that the size of the blocks
changes no probability.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.burst import FRAME

__all__ = ["Framer", "SpeechDetector", "speech_probabilities"]

_CONTEXT = 64  # samples of the frame before that the model sees with each frame
_STATE = (1, 1, 128)
_PERIOD = 63  # frames (2 s) that are looked at for speech, and run at once
_QUIET = 0.1
"""Where no frame of a period comes up to this, the network forgets what it heard. On a channel that
is silent for most of a run it comes to take all that follows for silence, speech 10 dB above the
noise included (a recording of six channels: 24 of 63 items were wrong, 3 with this)."""


class Framer:
    """Cuts blocks of one channel into frames of 512 samples, whatever the blocks' length."""

    def __init__(self) -> None:
        self._rest = np.zeros(0, dtype=np.float32)

    def push(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """The frames that are whole now, shape (n, 512)."""
        joined = np.concatenate([self._rest, samples])
        whole = len(joined) // FRAME * FRAME
        self._rest = joined[whole:].copy()
        return joined[:whole].reshape(-1, FRAME)

    def finish(self) -> NDArray[np.float32]:
        """The last frame, filled up with silence; no frame when nothing is left over."""
        missing = -len(self._rest) % FRAME
        return np.pad(self._rest, (0, missing)).reshape(-1, FRAME)


class SpeechDetector:
    """The model on one channel. It has a memory: one for each channel, frames in order.

    It runs on one thread (a second one made it twice as slow); many may run at the same time.
    """

    def __init__(self) -> None:
        from faster_whisper.vad import get_vad_model  # loads the speech libraries: a second or two

        self._session = get_vad_model().session
        self._hidden = np.zeros(_STATE, dtype=np.float32)
        self._cell = np.zeros(_STATE, dtype=np.float32)
        self._context = np.zeros(_CONTEXT, dtype=np.float32)
        self._seen = 0  # frames of the period
        self._loudest = 0.0  # probability in it

    def probabilities(self, frames: NDArray[np.float32]) -> NDArray[np.float32]:
        """Speech probability, 0 to 1, of each of the next frames (shape (n, 512))."""
        parts: list[NDArray[np.float32]] = []
        while len(frames):
            part = self._run(frames[: _PERIOD - self._seen])
            frames = frames[len(part) :]
            parts.append(part)
            self._look_back(part)
        return np.concatenate(parts) if parts else np.zeros(0, dtype=np.float32)

    def _look_back(self, part: NDArray[np.float32]) -> None:
        """Forget after a period without speech; periods go by the count of frames, not by calls."""
        self._seen += len(part)
        self._loudest = max(self._loudest, float(part.max()))
        if self._seen == _PERIOD:
            if self._loudest < _QUIET:
                self._hidden, self._cell = np.zeros_like(self._hidden), np.zeros_like(self._cell)
            self._seen, self._loudest = 0, 0.0

    def _run(self, frames: NDArray[np.float32]) -> NDArray[np.float32]:
        ends = np.vstack([self._context, frames[:, -_CONTEXT:]])
        inputs = {
            "input": np.hstack([ends[:-1], frames]),
            "h": self._hidden,
            "c": self._cell,
        }
        output, self._hidden, self._cell = self._session.run(None, inputs)
        self._context = ends[-1]
        return np.asarray(output, dtype=np.float32).reshape(-1)


def speech_probabilities(blocks: Iterable[NDArray[np.float32]]) -> Iterator[NDArray[np.float32]]:
    """Speech probabilities, one a frame of 512 samples, of one channel's blocks at 16 kHz."""
    framer, detector = Framer(), SpeechDetector()
    for block in blocks:
        yield detector.probabilities(framer.push(block))
    yield detector.probabilities(framer.finish())
