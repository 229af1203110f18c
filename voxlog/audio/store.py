"""The recording kept in the run folder: one 16-bit FLAC at 16 kHz a channel.

A file is named `.part` until it is whole and on the disk, so no half-written file looks whole.
"""

import contextlib
import hashlib
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
import soundfile
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.disk import sync_directory
from voxlog.errors import InputError

__all__ = ["AudioStore", "StoredChannel"]

_PART = ".part"


@dataclass(frozen=True)
class StoredChannel:
    """One channel as it was kept: the file, how many samples, and the SHA-256 of its bytes."""

    path: Path
    samples: int
    sha256: str


class AudioStore:
    """Writes `channel-1.flac` and so on into a folder, as a context manager.

    Leaving the context normally makes the files whole, and `channels` then says what was kept.
    Leaving it by an exception removes them: what was recorded still is where it was read from.
    16-bit samples at 16 kHz come back bit for bit.

        with AudioStore(run / "audio", recording.channels) as store:
            for block in recording.blocks():
                store.write(block)
        store.channels[0].sha256

    The files are written on a thread of the store's own: a signal, which only ever reaches the main
    thread, would be printed and lost inside libsndfile's call-backs.

    Raises InputError, from any of its methods, when the disk is full or cannot be written to.
    """

    def __init__(self, folder: Path, channels: int) -> None:
        self.channels: tuple[StoredChannel, ...] = ()
        self._folder = folder
        self._paths = [folder / f"channel-{number}.flac" for number in range(1, channels + 1)]
        self._writers: list[_FlacFile] = []
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="audio store")

    def __enter__(self) -> Self:
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            self._thread.submit(self._open).result()
        except BaseException as error:
            self._remove()
            if isinstance(error, OSError):
                raise _cannot_write(self._folder, error) from error
            raise
        return self

    def write(self, block: NDArray[np.float32]) -> None:
        """Appends a block of shape (channels, n) at 16 kHz; beyond full scale is clipped."""
        self._thread.submit(self._append, block).result()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is not None:
            self._remove()
            return
        try:
            self.channels = self._thread.submit(self._close).result()
        except BaseException:
            self._remove()
            raise
        self._thread.shutdown()

    def _open(self) -> None:
        for path in self._paths:
            self._writers.append(_FlacFile(path))

    def _append(self, block: NDArray[np.float32]) -> None:
        for writer, samples in zip(self._writers, block, strict=True):
            writer.write(samples)

    def _close(self) -> tuple[StoredChannel, ...]:
        kept = tuple(writer.close() for writer in self._writers)
        try:
            sync_directory(self._folder)
        except OSError as error:
            raise _cannot_write(self._folder, error) from error
        return kept

    def _remove(self) -> None:
        for writer in self._writers:
            self._thread.submit(writer.discard)
        self._thread.shutdown()


class _FlacFile:
    """One channel's file while it is being written."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._part = path.with_name(path.name + _PART)
        self._samples = 0
        self._sink = _Sink(self._part)
        self._flac = soundfile.SoundFile(
            self._sink, "w", RATE, channels=1, format="FLAC", subtype="PCM_16"
        )

    def write(self, samples: NDArray[np.float32]) -> None:
        # By hand, because libsndfile multiplies by 32767: a file of 16 bits would not come back.
        whole = np.clip(np.rint(samples * 32768), -32768, 32767).astype(np.int16)
        try:
            self._flac.write(whole)
        except (AssertionError, soundfile.SoundFileRuntimeError):
            if self._sink.fault is None:
                raise
        self._check()
        self._samples += len(whole)

    def close(self) -> StoredChannel:
        """Makes the file whole, puts it on the disk and gives it its name."""
        with contextlib.suppress(soundfile.SoundFileRuntimeError):
            self._flac.close()
        self._check()
        try:
            self._sink.sync_and_close()
            self._part.rename(self._path)
            with self._path.open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise _cannot_write(self._path, error) from error
        return StoredChannel(self._path, self._samples, digest)

    def discard(self) -> None:
        with contextlib.suppress(soundfile.SoundFileRuntimeError, OSError):
            self._flac.close()
        with contextlib.suppress(OSError):
            self._sink.sync_and_close()
        for path in (self._part, self._path):
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)

    def _check(self) -> None:
        if self._sink.fault is not None:
            raise _cannot_write(self._path, self._sink.fault) from self._sink.fault


class _Sink:
    """The file under the FLAC encoder. It keeps an OSError for us to raise.

    An exception inside libsndfile's call-back would be printed and lost.
    """

    def __init__(self, path: Path) -> None:
        self.fault: OSError | None = None
        self._file = path.open("w+b")

    def write(self, data: bytes) -> int:
        try:
            return self._file.write(data)
        except OSError as error:
            self.fault = self.fault or error
            return 0

    def read(self, size: int = -1) -> bytes:
        return self._file.read(size)

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        try:
            return self._file.seek(offset, whence)
        except OSError as error:  # seeking writes out what is buffered
            self.fault = self.fault or error
            return 0

    def tell(self) -> int:
        return self._file.tell()

    def sync_and_close(self) -> None:
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
        finally:
            self._file.close()


def _cannot_write(path: Path, error: OSError) -> InputError:
    return InputError(
        f"{path}: {error.strerror or error}; free some space or name another output folder"
    )
