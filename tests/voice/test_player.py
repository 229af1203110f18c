import io
from typing import Any

import numpy as np
import pytest

from voxlog.errors import InputError
from voxlog.voice.player import HEADER, _at_possible_rate, choose_output, main, serve

DEVICES = [
    {"name": "Intercom in", "max_output_channels": 0},
    {"name": "Loudspeaker", "max_output_channels": 2},
    {"name": "Loudspeaker, rear", "max_output_channels": 2},
    {"name": "Headset", "max_output_channels": 1},
]


@pytest.mark.parametrize(
    ("wanted", "number"),
    [("1", 1), ("3", 3), ("Loudspeaker", 1), ("rear", 2), ("headSET", 3)],
)
def test_an_output_is_chosen(wanted: str, number: int) -> None:
    assert choose_output(DEVICES, wanted) == number


@pytest.mark.parametrize(
    ("wanted", "message"),
    [
        (
            "0",  # an input
            "output 0: no such output; there are: 1 Loudspeaker; 2 Loudspeaker, rear; 3 Headset",
        ),
        ("loud", "output loud: may be any of 1, 2; give the number"),
    ],
)
def test_a_wrong_choice_is_explained(wanted: str, message: str) -> None:
    with pytest.raises(InputError) as raised:
        choose_output(DEVICES, wanted)
    assert str(raised.value) == message


def test_no_outputs_at_all() -> None:
    with pytest.raises(InputError, match="there are: none"):
        choose_output(DEVICES[:1], "1")


def piece(samples: list[int], rate: int = 16_000) -> bytes:
    return HEADER.pack(rate, len(samples)) + np.array(samples, dtype="<i2").tobytes()


def serving(pieces: bytes, failing: str = "") -> tuple[int, list[str], list[Any]]:
    lines: list[str] = []
    played: list[Any] = []

    def play(samples: Any, rate: int) -> None:
        if failing:
            raise RuntimeError(failing)
        played.append((samples.tolist(), rate))

    return serve(io.BytesIO(pieces), lines.append, play), lines, played


def test_piece_after_piece_is_played_and_its_time_told() -> None:
    code, lines, played = serving(piece([1, -2, 3]) + piece([4], 24_000) + piece([]))
    assert code == 0
    assert played == [([1, -2, 3], 16_000), ([4], 24_000), ([], 16_000)]
    assert [line.split()[0] for line in lines] == ["played"] * 3
    times = [int(number) for line in lines for number in line.split()[1:]]
    assert times == sorted(times)


def test_after_a_failure_it_says_why_in_one_line_and_ends() -> None:
    code, lines, _ = serving(piece([1]) + piece([2]), failing="device\nunavailable")
    assert (code, lines) == (1, ["failed device unavailable"])


@pytest.mark.parametrize("cut", [0, 3, 7])
def test_a_cut_off_header_is_the_end(cut: int) -> None:
    assert serving(piece([1])[:cut]) == (0, [], [])


def test_a_missing_output_is_its_first_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from voxlog.capture import portaudio

    def absent() -> None:
        raise InputError(portaudio.NO_LIBRARY)

    monkeypatch.setattr(portaudio, "library", absent)
    assert main(["Headset"]) == 1
    assert capsys.readouterr().out.startswith("failed recording needs PortAudio")


class AtOneRate:
    """An output that takes only the rate of its own."""

    class PortAudioError(Exception):
        pass

    def check_output_settings(self, samplerate: int, **more: object) -> None:
        if samplerate != 44_100:
            raise self.PortAudioError("Invalid sample rate")


@pytest.mark.parametrize(("rate", "count"), [(44_100, 1_000), (24_000, 1_838), (16_000, 2_756)])
def test_sounds_are_brought_to_a_rate_that_the_output_takes(rate: int, count: int) -> None:
    found = {"index": 1, "default_samplerate": 44_100.0}
    sound = np.full(1_000, 1_000, dtype=np.int16)
    other, samples = _at_possible_rate(AtOneRate(), found, sound, rate)
    assert other == 44_100
    assert samples.dtype == np.int16
    assert len(samples) == pytest.approx(count, abs=1)
    assert samples[len(samples) // 2] == pytest.approx(1_000, abs=2)
