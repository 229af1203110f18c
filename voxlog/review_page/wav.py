"""Samples as a WAV file in pieces, and as the peaks that a waveform is drawn from. Pure.

WAV, because a browser seeks in it to the very sample: the place of a sample follows from its
number. 16-bit, one channel, 16 kHz.
"""

import re
import struct
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["HEADER_BYTES", "RATE", "SAMPLE_BYTES", "Samples", "Span", "header", "peaks", "span_of"]

Samples = NDArray[np.int16]

RATE = 16_000
SAMPLE_BYTES = 2
HEADER_BYTES = 44
_PCM = 1


class Span(NamedTuple):
    """Bytes of a file: from first up to, not including, end."""

    first: int
    end: int


def header(samples: int) -> bytes:
    """The 44 bytes before the samples (RIFF, "WAVE_FORMAT_PCM")."""
    size = samples * SAMPLE_BYTES
    form = struct.pack(
        "<4sIHHIIHH", b"fmt ", 16, _PCM, 1, RATE, RATE * SAMPLE_BYTES, SAMPLE_BYTES, 16
    )
    riff = struct.pack("<4sI4s", b"RIFF", 36 + size, b"WAVE")
    return riff + form + struct.pack("<4sI", b"data", size)


def span_of(asked: str | None, size: int) -> Span | None:
    """What a Range header asks for of a file of that size; None if nothing of it is there.

    The whole file for no header, and for one that is not one range of bytes, as RFC 9110
    (section 14.2) lets a server do.
    """
    found = re.fullmatch(r"bytes=(\d{0,18})-(\d{0,18})", asked or "")
    if found is None or found.group() == "bytes=-":
        return Span(0, size)
    first, last = found.groups()
    if not first:
        span = Span(max(0, size - int(last)), size)
    else:
        span = Span(int(first), min(size, int(last) + 1) if last else size)
    return span if span.first < span.end else None


def peaks(samples: Samples, count: int) -> list[int]:
    """The loudest of each of `count` equal stretches, in thousandths of full scale."""
    if len(samples) == 0:
        return [0] * count
    edges = np.linspace(0, len(samples), count, endpoint=False).astype(np.intp)
    loudest = np.maximum.reduceat(np.abs(samples.astype(np.int32)), edges)
    return [int(peak) for peak in loudest * 1000 // 32768]
