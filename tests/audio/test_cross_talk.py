"""Leaks, drawn: a digit is the frame's level in steps of 3 dB, a dot is no voice (level 0)."""

import numpy as np
import pytest

from voxlog.audio.burst import FRAME, Burst
from voxlog.audio.cross_talk import LeakRules, Voice, frame_power, own_bursts

RULES = LeakRules(rest=3)


def drawn(text: str) -> Voice:
    level = np.array([0 if letter == "." else int(letter) for letter in text])
    power = (10 ** (3 * level / 10) * 1e-6).astype(np.float32)
    bursts: list[Burst] = []
    for frame, letter in enumerate(text):
        if letter == ".":
            continue
        if bursts and bursts[-1].end == frame * FRAME:
            bursts[-1] = Burst(bursts[-1].start, (frame + 1) * FRAME)
        else:
            bursts.append(Burst(frame * FRAME, (frame + 1) * FRAME))
    return Voice(tuple(bursts), power)


def underlined(bursts: list[Burst], length: int) -> str:
    line = [" "] * length
    for burst in bursts:
        line[burst.start // FRAME : burst.end // FRAME] = "^" * ((burst.end - burst.start) // FRAME)
    return "".join(line).rstrip()


@pytest.mark.parametrize(
    ("other", "own", "expected"),
    [
        # The same speech, 12 dB down: a leak. 3 dB down: two people near one microphone, kept.
        ("..798689..", "..354245..", ""),
        ("..798689..", "..687578..", "  ^^^^^^"),
        # The louder one is never the leak.
        ("..354245..", "..798689..", "  ^^^^^^"),
        # As quiet, but another speaker: its level goes its own way.
        ("..798689..", "..445254..", "  ^^^^^^"),
        # Nobody else speaks, or not at that time.
        ("..........", "..354245..", "  ^^^^^^"),
        ("798.......", "....354245", "    ^^^^^^"),
        # Most of it is leak, and the own answer after it stays.
        ("79868979....", "354245356787", "        ^^^^"),
        # What sticks out by less than `rest` is the same leak, ended a little later.
        ("79868979..", "3542453511", ""),
        # A small part of it is leak: the burst stays whole.
        ("........7986", "687578983542", "^^^^^^^^^^^^"),
    ],
)
def test_leaks_are_taken_out(other: str, own: str, expected: str) -> None:
    voice = drawn(own)
    kept = [
        piece for burst in voice.bursts for piece in own_bursts(burst, voice, [drawn(other)], RULES)
    ]
    assert underlined(kept, len(own)) == expected


def test_a_leak_from_any_of_several_channels_counts() -> None:
    own = drawn("..354245..")
    others = [drawn(".........."), drawn("..798689..")]
    assert own_bursts(own.bursts[0], own, others, RULES) == ()


def test_power_may_begin_later_than_the_recording() -> None:
    whole = drawn("....798689..")
    tail = Voice(whole.bursts, whole.power[3:], first=3)
    own = drawn("....354245..")
    assert own_bursts(own.bursts[0], own, [tail], RULES) == ()


def test_frame_power_is_the_mean_square() -> None:
    frames = np.array([[1, -1], [0.5, 0]], dtype=np.float32)
    assert frame_power(frames).tolist() == [1.0, 0.125]
