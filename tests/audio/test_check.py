"""What the check says of blocks, given as drawn values."""

import numpy as np
import pytest

from voxlog.audio.check import AudioCheck


def column(*values: float, times: int = 1) -> np.ndarray:
    return np.tile(np.array(values, dtype=np.float32), times)[:, np.newaxis]


SOUND = column(0.1, -0.2, times=1000)


@pytest.mark.parametrize(
    ("blocks", "expected"),
    [
        ([SOUND], ()),
        # Silence: zeros and a dither of one step; one sample of sound in any block is enough.
        ([SOUND * 0, SOUND * 0], ("no sound at all in channel 1",)),
        ([column(1 / 32768, -1 / 32768, 0, times=500)], ("no sound at all in channel 1",)),
        ([SOUND * 0, column(0.001), SOUND * 0], ()),
        # Full scale of 16 bits reaches 32767 / 32768 upwards and -1 downwards. 0.1 % is allowed.
        ([SOUND, column(32767 / 32768, -1.0)], ()),
        (
            [SOUND, column(32767 / 32768, -1.0, times=10)],
            ("channel 1: clipped, 1.0 % of samples at full scale; turn the input down next time",),
        ),
        # Not numbers: counted, and not taken for sound or for full scale.
        (
            [SOUND, column(np.nan, np.inf, -np.inf)],
            ("channel 1: 3 samples are not numbers; silence put in their place",),
        ),
        (
            [column(np.nan, 0.0)],
            (
                "channel 1: 1 samples are not numbers; silence put in their place",
                "no sound at all in channel 1",
            ),
        ),
    ],
)
def test_channel_warnings(blocks: list[np.ndarray], expected: tuple[str, ...]) -> None:
    check = AudioCheck()
    for block in blocks:
        check.add(0, block, full_scale=32767 / 32768)
    assert check.warnings() == expected


def test_channels_are_named_by_their_place_in_the_recording() -> None:
    check = AudioCheck()
    check.add(0, SOUND)
    check.add(1, np.hstack([SOUND, SOUND * 0]))
    assert check.warnings() == ("no sound at all in channel 3",)


@pytest.mark.parametrize(
    ("promised", "came", "fault", "expected"),
    [
        (10.0, 10.0, "", ()),
        (10.0, 9.8, "", ()),
        (10.0, 12.0, "", ()),
        (None, 9.0, "", ()),
        (
            10.0,
            6.04,
            "",
            ("run.wav: 10.0 s promised by its header, 6.0 s came; the file is cut short",),
        ),
        (
            10.0,
            6.0,
            "lost sync",
            ("run.wav: 10.0 s promised by its header, 6.0 s came; the file is cut short",),
        ),
        (
            None,
            6.0,
            "lost sync",
            ("run.wav: damaged, 6.0 s could be read (lost sync); later times may be too early",),
        ),
    ],
)
def test_file_warnings(
    promised: float | None, came: float, fault: str, expected: tuple[str, ...]
) -> None:
    check = AudioCheck()
    check.add_file("run.wav", promised, came, fault)
    assert check.warnings() == expected
