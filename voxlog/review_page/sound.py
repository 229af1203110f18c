"""The run's recording, to be cut anywhere at once.

A FLAC file is never sought in (audio/decode.py says why), so every channel is read forward, once,
into a temporary file of plain samples, which has no name and goes when the process does, however it
ends. Two hours of a channel take 230 MB of it and about three seconds. Whoever asks for a stretch
that is not there yet waits for it.
"""

import os
import tempfile
import threading
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

import numpy as np

from voxlog.audio.decode import DamagedAudioError, inspect_audio
from voxlog.errors import InputError
from voxlog.review_page.wav import RATE, SAMPLE_BYTES, Samples, peaks

__all__ = ["RunSound"]

PEAK_SAMPLES = RATE // 100
"""Samples that the overview takes as one."""


class RunSound:
    """The channels of a run, read on a thread of its own, as a context manager.

    paths: a 16 kHz file with one channel each. samples: the length of the longest. What a damaged
    file lacks is silence.
    """

    def __init__(self, paths: Sequence[Path], samples: int) -> None:
        self.samples = samples
        self.channels = len(paths)
        self.faults: tuple[str, ...] = ()
        self._paths = tuple(paths)
        self._files: list[BinaryIO] = []
        self._loudest = np.zeros((len(paths), -(-samples // PEAK_SAMPLES) or 1), np.int16)
        self._ready = 0
        self._news = threading.Condition()
        self._stop = False
        self._thread = threading.Thread(target=self._read_all, name="sound", daemon=True)

    def __enter__(self) -> Self:
        for _ in self._paths:
            file = tempfile.TemporaryFile(buffering=0)  # closed in __exit__
            os.truncate(file.fileno(), self.samples * SAMPLE_BYTES)
            self._files.append(file)
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop = True
        self._thread.join()
        for file in self._files:
            file.close()

    def cut(self, channel: int, first: int, end: int) -> Samples:
        """Samples first to end of a channel (from 1), or of all of them mixed (0)."""
        end = max(first, min(end, self.samples))
        with self._news:
            self._news.wait_for(lambda: self._ready >= end)
        chosen = self._files if channel == 0 else self._files[channel - 1 : channel]
        size, place = (end - first) * SAMPLE_BYTES, first * SAMPLE_BYTES
        cuts = [np.frombuffer(os.pread(one.fileno(), size, place), np.int16) for one in chosen]
        if len(cuts) == 1:
            return cuts[0]
        mixed = np.sum(cuts, axis=0, dtype=np.int32)
        return np.clip(mixed, -32768, 32767).astype(np.int16)

    def overview(self, count: int) -> list[int]:
        """The loudest of all channels in each of `count` equal stretches of the run."""
        with self._news:
            self._news.wait_for(lambda: self._ready >= self.samples)
        return peaks(self._loudest.max(axis=0), count)

    def _read_all(self) -> None:
        """All channels side by side, so that what is ready is ready on all of them."""
        at = [0] * self.channels
        readers = [self._blocks(path) for path in self._paths]
        for blocks in zip_longest(*readers):
            if self._stop:
                break
            for channel, block in enumerate(blocks):
                if block is not None:
                    at[channel] += self._keep(channel, at[channel], block)
            self._tell(
                min((n for n, b in zip(at, blocks, strict=True) if b is not None), default=0)
            )
        self._tell(self.samples)

    def _blocks(self, path: Path) -> Iterator[Samples]:
        try:
            for block in inspect_audio(path).blocks():
                yield np.clip(np.rint(block[:, 0] * 32768), -32768, 32767).astype(np.int16)
        except (DamagedAudioError, InputError, OSError) as error:
            self.faults = (*self.faults, f"audio/{path.name}: cannot be read to its end ({error})")

    def _keep(self, channel: int, at: int, block: Samples) -> int:
        block = block[: self.samples - at]
        try:
            os.pwrite(self._files[channel].fileno(), block.tobytes(), at * SAMPLE_BYTES)
        except OSError as error:
            fault = f"{tempfile.gettempdir()}: no room for the sound ({error.strerror})"
            self.faults = tuple(dict.fromkeys((*self.faults, fault)))
        if len(block):
            # The first stretch may have begun in the block before.
            edges = np.unique(np.append(0, np.arange(-at % PEAK_SAMPLES, len(block), PEAK_SAMPLES)))
            level = np.maximum.reduceat(np.abs(np.maximum(block, -32767)), edges)
            stretches = (at + edges) // PEAK_SAMPLES
            loudest = self._loudest[channel]
            loudest[stretches] = np.maximum(loudest[stretches], level)
        return len(block)

    def _tell(self, ready: int) -> None:
        with self._news:
            self._ready = max(self._ready, ready)
            self._news.notify_all()
