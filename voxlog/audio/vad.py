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
_FRAMES_A_RUN = 256  # 8 s: the network's intermediate arrays stay small, and none is slower


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

    def probabilities(self, frames: NDArray[np.float32]) -> NDArray[np.float32]:
        """Speech probability, 0 to 1, of each of the next frames (shape (n, 512))."""
        parts = [
            self._run(frames[first : first + _FRAMES_A_RUN])
            for first in range(0, len(frames), _FRAMES_A_RUN)
        ]
        return np.concatenate(parts) if parts else np.zeros(0, dtype=np.float32)

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
