"""How many samples an MP3 promises: the frame count of its Xing header.

Without that header the length is any decoder's guess from the bit rate, so there is no promise.
"""

import struct
from pathlib import Path

__all__ = ["read_xing_frames"]

_HAS_FRAME_COUNT = 0x01
_SEARCHED_BYTES = 2048  # the header lies in the first MPEG frame, of at most 1441 bytes


def read_xing_frames(path: Path) -> int | None:
    """Samples a channel, coder delay included; None without a Xing or Info header."""
    with path.open("rb") as file:
        file.seek(_id3_bytes(file.read(10)))
        start = file.read(_SEARCHED_BYTES)
    place = max(start.find(b"Xing"), start.find(b"Info"))
    sync = start.find(b"\xff")
    if place < 0 or sync < 0 or len(start) < place + 12:
        return None
    flags, frames = struct.unpack_from(">II", start, place + 4)
    is_mpeg_1 = start[sync + 1] & 0x18 == 0x18
    return frames * (1152 if is_mpeg_1 else 576) if flags & _HAS_FRAME_COUNT else None


def _id3_bytes(head: bytes) -> int:
    """Bytes of the ID3v2 tag before the audio: a size of four times seven bits."""
    if len(head) < 10 or head[:3] != b"ID3":
        return 0
    size = 0
    for part in head[6:10]:
        size = size << 7 | part & 0x7F
    return 10 + size
