"""The header against libsndfile, ranges against RFC 9110 section 14.1.2's own examples."""

import io

import numpy as np
import pytest
import soundfile

from voxlog.review_page.wav import HEADER_BYTES, RATE, Span, header, peaks, span_of


def test_another_library_reads_the_file_back() -> None:
    samples = np.arange(-500, 500, dtype=np.int16)
    read, rate = soundfile.read(io.BytesIO(header(len(samples)) + samples.tobytes()), dtype="int16")
    assert len(header(1)) == HEADER_BYTES
    assert rate == RATE
    assert np.array_equal(read, samples)


@pytest.mark.parametrize(
    ("asked", "span"),
    [
        # of a representation of 10000 bytes, as in the RFC
        ("bytes=0-499", (0, 500)),
        ("bytes=500-999", (500, 1000)),
        ("bytes=-500", (9500, 10000)),
        ("bytes=9500-", (9500, 10000)),
        ("bytes=0-0", (0, 1)),
        ("bytes=-1", (9999, 10000)),
        ("bytes=9990-99999999", (9990, 10000)),
        ("bytes=-20000", (0, 10000)),
        # not there
        ("bytes=10000-", None),
        ("bytes=500-499", None),
        ("bytes=-0", None),
        # no range that we know: the whole
        (None, (0, 10000)),
        ("bytes=0-1,5-6", (0, 10000)),
        ("bytes=-", (0, 10000)),
        ("lines=1-2", (0, 10000)),
        ("bytes=1-9999999999999999999999999", (0, 10000)),
    ],
)
def test_ranges(asked: str | None, span: tuple[int, int] | None) -> None:
    assert span_of(asked, 10000) == (span and Span(*span))


@pytest.mark.parametrize(
    ("samples", "count", "expected"),
    [
        ([0, 16384, 0, -32768], 2, [500, 1000]),
        ([0, 0, 0, 0], 4, [0, 0, 0, 0]),
        ([3277], 2, [100, 100]),
        ([], 3, [0, 0, 0]),
    ],
)
def test_peaks(samples: list[int], count: int, expected: list[int]) -> None:
    assert peaks(np.array(samples, np.int16), count) == expected
