"""Levels, and what is told of a channel that is silent, too loud, patched twice or swapped."""

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.capture.blocks import RATE, noise
from voxlog.capture.meter import NOTHING_DBFS, Meter, dbfs, swapped_channels


def sine(seconds: float, amplitude: float, frequency: float = 440.0) -> NDArray[np.int16]:
    time = np.arange(round(seconds * RATE)) / RATE
    return np.rint(amplitude * np.sin(2 * np.pi * frequency * time)).astype(np.int16)


def hiss(seconds: float, scale: float, seed: int = 1) -> NDArray[np.int16]:
    return noise(1, round(seconds * RATE), seed, scale)[0]


def silence(seconds: float) -> NDArray[np.int16]:
    return np.zeros(round(seconds * RATE), dtype=np.int16)


def read(*channels: NDArray[np.int16], silent_after_s: float = 20.0, size: int = 777) -> Meter:
    """A meter that has had these channels, in blocks of no round size."""
    meter = Meter(len(channels), RATE, silent_after_s)
    samples = np.stack(channels)
    for start in range(0, samples.shape[1], size):
        meter.push(samples[:, start : start + size])
    return meter


@pytest.mark.parametrize(
    ("samples", "peak", "rms"),
    [
        # Full scale is 32768; a sine's RMS is 3.01 dB below its peak.
        (sine(2, 32767), 0.0, -3.01),
        (sine(2, 3276.8), -20.0, -23.01),
        (np.full(32_000, -32768, dtype=np.int16), 0.0, 0.0),
        (np.full(32_000, 1, dtype=np.int16), -90.31, -90.31),
        (silence(2), NOTHING_DBFS, NOTHING_DBFS),
        (silence(0), NOTHING_DBFS, NOTHING_DBFS),
        # Of the last second only.
        (np.concatenate([sine(2, 32767), sine(1.1, 3276.8)]), -20.0, -23.01),
        (np.concatenate([sine(2, 3276.8), silence(0.5), sine(0.6, 3276.8)]), -20.0, -25.5),
    ],
)
def test_levels_are_of_the_last_second(samples: NDArray[np.int16], peak: float, rms: float) -> None:
    (level,) = read(samples).levels()
    assert level.peak_dbfs == pytest.approx(peak, abs=0.02)
    assert level.rms_dbfs == pytest.approx(rms, abs=0.5)


def test_decibels_never_go_below_nothing() -> None:
    assert dbfs(0) == dbfs(0.001) == NOTHING_DBFS
    assert dbfs(32768) == 0


def with_noise(voice: NDArray[np.int16], scale: float = 20.0, seed: int = 1) -> NDArray[np.int16]:
    return voice + hiss(len(voice) / RATE, scale, seed)[: len(voice)]


TALK = with_noise(np.concatenate([sine(0.5, 4000), silence(1)] * 15))


@pytest.mark.parametrize(
    ("samples", "warning"),
    [
        (TALK, ""),
        # Silent.
        (silence(4.8), ""),
        (silence(5.1), "no sound at all; check its line"),
        (np.concatenate([TALK, silence(6)]), "no sound at all; check its line"),
        (np.concatenate([silence(6), TALK]), ""),
        (hiss(19, 100), ""),
        (hiss(30, 100), "nothing but noise for 30 s"),
        (sine(30, 1000, 50), "nothing but noise for 30 s"),  # hum of the mains
        (np.concatenate([TALK, hiss(20, 20)]), "nothing but noise for 21 s"),
        # A fan that begins is a signal, and half a minute later the new floor.
        (np.concatenate([hiss(30, 20), hiss(29, 1000)]), ""),
        (np.concatenate([hiss(30, 20), hiss(60, 1000)]), "nothing but noise for 30 s"),
        # Clipping; the warning stays for ten seconds.
        (sine(2, 32767), "too loud, clipping; turn its input down"),
        (
            np.concatenate(
                [np.clip(2.0 * sine(1, 30_000), -32768, 32767).astype(np.int16), TALK[:140_000]]
            ),
            "too loud, clipping; turn its input down",
        ),
        (
            np.concatenate(
                [np.clip(2.0 * sine(1, 30_000), -32768, 32767).astype(np.int16), TALK[:176_000]]
            ),
            "",
        ),
        (sine(2, 32_000), ""),
    ],
)
def test_a_warning_is_plain(samples: NDArray[np.int16], warning: str) -> None:
    (level,) = read(samples).levels()
    assert level.warning == warning


VOICE = np.concatenate([sine(1.5, 4000, 300), sine(1.5, 2500, 1200), silence(1)])
OTHER = np.concatenate([silence(1), sine(1.5, 3000, 500), sine(1.5, 4000, 800)])


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (with_noise(VOICE, 20, 1), with_noise(OTHER, 20, 2), False),
        (with_noise(VOICE, 20, 1), with_noise(VOICE, 20, 1), True),
        (with_noise(VOICE, 20, 1), with_noise(VOICE, 20, 2), True),  # two converters
        (with_noise(VOICE, 20, 1), (0.95 * with_noise(VOICE, 20, 2)).astype(np.int16), True),
        (with_noise(VOICE, 20, 1), with_noise(VOICE // 4, 20, 2), False),  # leaked, 12 dB down
        (with_noise(VOICE, 20, 1), with_noise(np.roll(VOICE, 40), 20, 2), False),  # 2.5 ms later
        (hiss(10, 20, 1), hiss(10, 20, 1), False),  # nothing said yet
        # Alike once, and then not.
        (np.concatenate([VOICE, VOICE]), np.concatenate([VOICE, OTHER]), False),
    ],
)
def test_one_line_patched_twice_is_noticed(
    one: NDArray[np.int16], other: NDArray[np.int16], same: bool
) -> None:
    third = hiss(len(one) / RATE, 20, 9)[: len(one)]
    warnings = [level.warning for level in read(one, third, other, silent_after_s=60).levels()]
    expected = ["same as channel 3; one line may be patched twice"] if same else [""]
    assert warnings[0:1] == expected
    assert warnings[1] == ""
    assert warnings[2] == expected[0].replace("3", "1")


POSITIONS = {0: "conductor", 1: "attendant", 2: "operator"}


def said(channel: int, *counts: tuple[str, int]) -> list[tuple[int, str]]:
    return [(channel, position) for position, count in counts for _ in range(count)]


@pytest.mark.parametrize(
    ("heard", "told"),
    [
        ([], {}),
        (said(1, ("attendant", 9)), {}),
        (said(1, ("operator", 3)), {}),  # too few to say
        (
            said(1, ("operator", 5), ("attendant", 1)),
            {1: "5 of 6 phrases are operator's; check the patch"},
        ),
        (said(1, ("operator", 4), ("attendant", 2)), {}),  # an operator who also stands in
        (
            said(1, ("operator", 5)) + said(2, ("attendant", 4)),
            {
                1: "seems swapped with channel 3; check the patch",
                2: "seems swapped with channel 2; check the patch",
            },
        ),
        (
            said(1, ("operator", 5)) + said(2, ("operator", 4)),
            {1: "5 of 5 phrases are operator's; check the patch"},
        ),
        (
            said(0, ("attendant", 4)) + said(1, ("operator", 4)) + said(2, ("conductor", 4)),
            {
                0: "4 of 4 phrases are attendant's; check the patch",
                1: "4 of 4 phrases are operator's; check the patch",
                2: "4 of 4 phrases are conductor's; check the patch",
            },
        ),
        (said(7, ("operator", 9)), {}),  # a channel that is mapped to nobody
    ],
)
def test_swapped_channels_are_named(heard: list[tuple[int, str]], told: dict[int, str]) -> None:
    assert swapped_channels(heard, POSITIONS) == told
