"""The chunks of a WAV file: RIFF, and its 64-bit forms RF64 and BW64.

Only what libsndfile does not tell: where a chunk lies, and how much audio the header promises.
Layout: EBU Tech 3306 (RF64: sizes of 2**32-1 are found in the ds64 chunk), ITU-R BS.2088 (BW64).
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

__all__ = ["Chunk", "find_chunk", "promised_frames", "read_chunks"]

_FORMS = (b"RIFF", b"RF64", b"BW64")
_IN_DS64 = 0xFFFFFFFF
_LINEAR_FORMATS = (0x0001, 0x0003, 0xFFFE)  # PCM, float, extensible: a fixed size for each frame


@dataclass(frozen=True)
class Chunk:
    """One chunk: its name, where its content starts, and the size in bytes its header states."""

    name: bytes
    offset: int
    size: int


def read_chunks(path: Path) -> tuple[Chunk, ...]:
    """The chunks in file order, the last one perhaps promising more than is there.

    Empty when the file is no WAV of any form.
    """
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] not in _FORMS or head[8:12] != b"WAVE":
            return ()
        return tuple(_walk(file, path.stat().st_size))


def find_chunk(chunks: tuple[Chunk, ...], name: bytes) -> Chunk | None:
    """The first chunk of that name."""
    return next((chunk for chunk in chunks if chunk.name == name), None)


def promised_frames(path: Path, chunks: tuple[Chunk, ...]) -> int | None:
    """How many frames the data chunk claims; None where the header cannot know.

    A program that writes to a pipe leaves a size near the 31- or 32-bit limit, or 0: that is no
    promise, so a file with one is not called cut short.
    """
    layout, data = find_chunk(chunks, b"fmt "), find_chunk(chunks, b"data")
    if layout is None or data is None or layout.size < 16 or _is_placeholder(data.size):
        return None
    with path.open("rb") as file:
        file.seek(layout.offset)
        fields = file.read(16)
    if len(fields) < 16:
        return None
    code, _, _, _, frame_bytes, _ = struct.unpack("<HHIIHH", fields)
    return data.size // frame_bytes if code in _LINEAR_FORMATS and frame_bytes else None


def _walk(file: BinaryIO, file_bytes: int) -> Iterator[Chunk]:
    offset, large = 12, {}
    while offset + 8 <= file_bytes:
        file.seek(offset)
        name, size = struct.unpack("<4sI", file.read(8))
        if name == b"ds64":
            large = _read_ds64(file.read(min(size, 1 << 16)))
        if size == _IN_DS64:
            size = large.get(name, size)
        yield Chunk(name, offset + 8, size)
        offset += 8 + size + (size & 1)


def _read_ds64(content: bytes) -> dict[bytes, int]:
    """64-bit sizes by chunk name: the data chunk's, then those of the table."""
    if len(content) < 24:
        return {}
    sizes = {b"data": struct.unpack_from("<Q", content, 8)[0]}
    for entry in range(28, len(content) - 11, 12):
        name, size = struct.unpack_from("<4sQ", content, entry)
        sizes[name] = size
    return sizes


def _is_placeholder(size: int) -> bool:
    return size == 0 or 0x7FFF0000 <= size <= 0x7FFFFFFF or 0xFFFF0000 <= size <= 0xFFFFFFFF
