"""Sun/NeXT audio files (AU): a form that can be read whatever byte it was cut at.

The header is whole from the start and says that the length is not known, so nothing in it needs to
be mended later: 24 bytes of six big-endian numbers (".snd", where the samples begin, how many bytes
of them, encoding, rate, channels), a note, then the samples. Rejected: WAV and RF64, whose length
stands in the header; a FLAC that is cut off needs a patient reader and lacks its last block.
"""

import os
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError

__all__ = ["AuFile", "AuHeader", "decode_header", "encode_header", "read_header", "read_samples"]

_FIELDS = struct.Struct(">4s5I")
_MAGIC = b".snd"
_UNKNOWN_LENGTH = 0xFFFFFFFF
_LINEAR_16_BITS = 3
_NOTE = bytes(8)  # readers differ on whether it may be left out, and want it in eights
_SAMPLE = np.dtype(">i2")
READ_SAMPLES = 1 << 16


class AuHeader(NamedTuple):
    """Samples a second, and the byte that the first sample begins at."""

    rate: int
    offset: int

    def samples_in(self, size: int) -> int:
        """Whole samples in a file of so many bytes."""
        return max(0, size - self.offset) // _SAMPLE.itemsize


def encode_header(rate: int) -> bytes:
    """The header of one channel of 16 bits, of unknown length."""
    offset = _FIELDS.size + len(_NOTE)
    return _FIELDS.pack(_MAGIC, offset, _UNKNOWN_LENGTH, _LINEAR_16_BITS, rate, 1) + _NOTE


def decode_header(data: bytes) -> AuHeader | None:
    """The header at the start of `data`; None if it is not one of those that are written here."""
    if len(data) < _FIELDS.size:
        return None
    magic, offset, _, encoding, rate, channels = _FIELDS.unpack_from(data)
    ours = (magic, encoding, channels) == (_MAGIC, _LINEAR_16_BITS, 1)
    return AuHeader(rate, offset) if ours and rate and _FIELDS.size <= offset <= 4096 else None


def read_header(path: Path) -> AuHeader:
    """The file's header; InputError if it is no journal or cannot be read."""
    try:
        with path.open("rb") as file:
            header = decode_header(file.read(_FIELDS.size))
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; check the disk and its permissions") from error
    if header is None:
        raise InputError(f"{path}: not as voxlog writes it; take it out of the folder")
    return header


def read_samples(path: Path, count: int, first: int = 0) -> Iterator[NDArray[np.int16]]:
    """`count` samples from the one of index `first` on, in parts; InputError if the disk fails."""
    try:
        with path.open("rb") as file:
            file.seek(read_header(path).offset + first * _SAMPLE.itemsize)
            while count > 0 and (data := file.read(min(count, READ_SAMPLES) * _SAMPLE.itemsize)):
                part = np.frombuffer(data, _SAMPLE, len(data) // _SAMPLE.itemsize)
                yield part.astype(np.int16)
                count -= len(part)
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; copy it to a sound disk") from error


class AuFile:
    """One channel's file, open for writing. Writing and synchronising may be two threads'.

    All methods let OSError through.
    """

    def __init__(self, path: Path, rate: int, *, goes_on: bool = False) -> None:
        """Makes the file, or opens one that is there and is to be gone on with."""
        self.path = path
        if not goes_on:
            _create(path, rate)
        self._offset = read_header(path).offset
        self._file = path.open("r+b", buffering=0)

    def write(self, first: int, samples: NDArray[np.int16]) -> None:
        """Puts samples at their own place, so doing it again after a failure does no harm.

        What is skipped reads as silence; the file system keeps it as a hole.
        """
        data = memoryview(samples.astype(_SAMPLE).tobytes())
        self._file.seek(self._offset + first * _SAMPLE.itemsize)
        while data:
            data = data[self._file.write(data) :]

    def sync(self) -> None:
        os.fsync(self._file.fileno())

    def close(self) -> None:
        self._file.close()


def _create(path: Path, rate: int) -> None:
    """Under its name only when the header is on the disk."""
    part = path.with_name(path.name + ".part")
    with part.open("wb") as file:
        file.write(encode_header(rate))
        file.flush()
        os.fsync(file.fileno())
    part.rename(path)
