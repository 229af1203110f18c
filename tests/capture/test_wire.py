"""Question, answer and arrivals come out as they went in, or not at all."""

import io

import numpy as np
import pytest

from voxlog.capture.wire import (
    Arrival,
    Input,
    read_answer,
    read_arrival,
    write_answer,
    write_arrival,
    write_refusal,
)
from voxlog.errors import InputError

SAMPLES = np.array([[1, -2, 32767], [-32768, 0, 5]], dtype=np.int16)


def written(*arrivals: Arrival) -> bytes:
    pipe = io.BytesIO()
    for arrival in arrivals:
        write_arrival(pipe, arrival)
    return pipe.getvalue()


@pytest.mark.parametrize(
    "asked",
    [Input(), Input("2", 1), Input("Tisch-Gerät: USB (hw:1,0)\n", 32, "Windows WASAPI", 48_000)],
)
def test_a_question_and_an_answer_come_back(asked: Input) -> None:
    assert Input.of(asked.arguments()) == asked
    pipe = io.BytesIO()
    write_answer(pipe, asked)
    pipe.seek(0)
    assert read_answer(pipe) == asked


def test_a_refusal_is_its_own_line() -> None:
    pipe = io.BytesIO()
    write_refusal(pipe, "device 7: no such input; see voxlog devices")
    pipe.seek(0)
    with pytest.raises(InputError, match=r"^device 7: no such input; see voxlog devices$"):
        read_answer(pipe)


@pytest.mark.parametrize("said", [b"", b'{"opened": ["pul'])
def test_no_answer_is_one_line_too(said: bytes) -> None:
    with pytest.raises(InputError, match="its driver crashed"):
        read_answer(io.BytesIO(said))


@pytest.mark.parametrize("samples", [SAMPLES, SAMPLES[:, :1], SAMPLES[:0]])
def test_arrivals_come_back_in_order(samples: "np.typing.NDArray[np.int16]") -> None:
    sent = [Arrival(samples, 2**62, 1_795_600_000_000_000_000, 0), Arrival(samples, 5, -1, 2**40)]
    pipe = io.BytesIO(written(*sent))
    for one in sent:
        got = read_arrival(pipe)
        assert got is not None
        assert np.array_equal(got.samples, one.samples)
        assert got.samples.shape == samples.shape
        assert got.samples.dtype == np.int16
        assert got[1:] == one[1:]
    assert read_arrival(pipe) is None


def test_half_of_one_is_the_end() -> None:
    whole = written(Arrival(SAMPLES, 1, 2, 3))
    for cut in range(len(whole)):
        assert read_arrival(io.BytesIO(whole[:cut])) is None
