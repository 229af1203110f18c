"""A recording of one run: one file, or a file for each position, as one stream at 16 kHz.

The start of the pipeline. It reads and never judges speech; what is wrong with the audio goes to an
`AudioCheck` on the way.
"""

import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import accumulate, zip_longest
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.bext import read_bext
from voxlog.audio.check import AudioCheck
from voxlog.audio.decode import AudioFile, DamagedAudioError, Samples, inspect_audio
from voxlog.audio.resample import to_16k
from voxlog.errors import InputError

__all__ = ["Recording", "open_recording"]

_SAME_START = timedelta(seconds=1)


@dataclass(frozen=True)
class Recording:
    """Audio that was found readable; the samples are still in the files.

    Attributes:
        paths: the files as they were named.
        channels: of all files together, in the order of the files.
        rate: own samples a second of the first file.
        seconds: of the longest file; None where a header does not say.
        start: when the first sample was taken, by the files' own time reference; None without one.
        warnings: what is odd already before the samples are read.
    """

    paths: tuple[Path, ...]
    channels: int
    rate: int
    seconds: float | None
    start: datetime | None
    warnings: tuple[str, ...]
    _files: tuple[AudioFile, ...] = field(repr=False)

    def blocks(
        self, seconds: float = 30.0, check: AudioCheck | None = None
    ) -> Iterator[NDArray[np.float32]]:
        """All the audio as blocks of shape (channels, n) at 16 kHz, the last one shorter.

        Memory is bounded by the block, not by the recording. Files that end early go on as silence.

        Args:
            seconds: length of a block; more than 0.
            check: takes note of silence, clipping and missing audio; ask it after the last block.

        Raises:
            InputError: a file ends without a single sample, or can no longer be read.
        """
        check = check or AudioCheck()
        size = max(1, round(seconds * RATE))
        firsts = accumulate((file.channels for file in self._files), initial=0)
        streams = [
            _regroup(_read(file, first, check), size)
            for file, first in zip(self._files, firsts, strict=False)
        ]
        lengths = [0] * len(streams)
        for parts in zip_longest(*streams):
            for number, part in enumerate(parts):
                lengths[number] += len(part) if part is not None else 0
            yield _side_by_side(parts, self._files)
        for file, length in zip(self._files, lengths, strict=True):
            check.add_padding(file.path.name, (max(lengths) - length) / RATE)


def open_recording(paths: Sequence[Path], zone: tzinfo = UTC) -> Recording:
    """Looks into the files and says what they hold; reads no more than their headers.

    One mono file, one multi-channel file, or a file for each position: their channels are then put
    side by side, all taken to start together. Rates may differ.

    Args:
        paths: WAV (also RF64, BW64, W64), FLAC, Ogg, MP3, M4A, AAC and what else FFmpeg decodes.
        zone: the zone of a Broadcast Wave time reference, which the file does not state.

    Raises:
        InputError: no path, a path named twice, or a file that is missing, empty or no audio.
    """
    if not paths:
        raise InputError("no recording named; give one audio file, or one for each position")
    for path in paths:
        _check_readable(path)
    _check_all_different(paths)
    files = tuple(inspect_audio(path) for path in paths)
    seconds = [file.frames / file.rate for file in files if file.frames is not None]
    starts = [_start(file, zone) for file in files]
    return Recording(
        paths=tuple(paths),
        channels=sum(file.channels for file in files),
        rate=files[0].rate,
        seconds=max(seconds) if len(seconds) == len(files) else None,
        start=next((start for start in starts if start is not None), None),
        warnings=_start_warnings(files, starts),
        _files=files,
    )


def _check_readable(path: Path) -> None:
    try:
        status = path.stat()
    except FileNotFoundError:
        raise InputError(f"{path}: no such file; check the name") from None
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; name a file you may read") from None
    if stat.S_ISDIR(status.st_mode):
        raise InputError(f"{path}: a folder; name the audio files in it")
    if not stat.S_ISREG(status.st_mode):
        raise InputError(f"{path}: a device or pipe; record to a file first, then name that")
    if not os.access(path, os.R_OK):
        raise InputError(f"{path}: no permission to read it; change its permissions")
    if status.st_size == 0:
        raise InputError(f"{path}: empty (0 bytes); record again or name another file")


def _check_all_different(paths: Sequence[Path]) -> None:
    seen: set[Path] = set()
    for path in paths:
        if path.resolve() in seen:
            raise InputError(f"{path}: named twice; name each file once")
        seen.add(path.resolve())


def _start(file: AudioFile, zone: tzinfo) -> datetime | None:
    bext = read_bext(file.path)
    return bext.start(file.rate, zone) if bext else None


def _start_warnings(
    files: Sequence[AudioFile], starts: Sequence[datetime | None]
) -> tuple[str, ...]:
    known = [(file, start) for file, start in zip(files, starts, strict=True) if start is not None]
    return tuple(
        f"{file.path.name}: starts {(start - known[0][1]).total_seconds():+.1f} s from"
        f" {known[0][0].path.name} by its time reference; taken as starting together"
        for file, start in known[1:]
        if abs(start - known[0][1]) > _SAME_START
    )


def _read(file: AudioFile, first_channel: int, check: AudioCheck) -> Iterator[Samples]:
    return to_16k(_checked(file, first_channel, check), file.rate, file.channels)


def _checked(file: AudioFile, first_channel: int, check: AudioCheck) -> Iterator[Samples]:
    """The file's blocks without NaN and infinity, and its end reported."""
    frames, fault = 0, ""
    try:
        for block in file.blocks():
            check.add(first_channel, block, file.full_scale)
            frames += len(block)
            finite = np.isfinite(block)
            yield block if finite.all() else np.where(finite, block, np.float32(0))
    except DamagedAudioError as error:
        fault = str(error)
    except OSError as error:
        raise InputError(f"{file.path}: {error.strerror}; copy it to a sound disk") from error
    if frames == 0:
        reason = f"cannot be read ({fault})" if fault else "no audio in it (0 samples)"
        raise InputError(f"{file.path}: {reason}; record again or name another file")
    promised = file.promised_frames
    check.add_file(
        file.path.name,
        promised / file.rate if promised is not None else None,
        frames / file.rate,
        fault,
    )


def _regroup(blocks: Iterator[Samples], size: int) -> Iterator[Samples]:
    """The same samples in blocks of `size`, the last one shorter."""
    held: list[Samples] = []
    count = 0
    for block in blocks:
        held.append(block)
        count += len(block)
        while count >= size:
            whole = np.concatenate(held)
            yield whole[:size]
            held, count = [whole[size:]], count - size
    if count:
        yield np.concatenate(held)


def _side_by_side(
    parts: Sequence[Samples | None], files: Sequence[AudioFile]
) -> NDArray[np.float32]:
    length = max(len(part) for part in parts if part is not None)
    block = np.zeros((sum(file.channels for file in files), length), dtype=np.float32)
    row = 0
    for part, file in zip(parts, files, strict=True):
        if part is not None:
            block[row : row + file.channels, : len(part)] = part.T
        row += file.channels
    return block
