import base64
import io

import numpy as np
import pytest
import soundfile

from tests.debrief.made import RATE, a_sound
from voxlog.debrief.clip import clip_uri, clip_window
from voxlog.follow.event import Event


@pytest.mark.parametrize(
    ("start", "end", "status", "window"),
    [
        (10, 12, "negative", (9, 13.5)),
        (0.2, 1, "negative", (0, 2.5)),
        (98, 100, "negative", (97, 100)),
        (20, 20, "skipped", (14, 21.5)),  # what was said before the run went on
        (10, 60, "confirmed", (9, 25)),  # never longer than 16 s
        (100, 100, "skipped", (94, 100)),
    ],
)
def test_a_clip_has_some_air(start: float, end: float, status: str, window: tuple) -> None:
    event = Event(start, end, "item", status=status)  # type: ignore[arg-type]
    assert clip_window(event, 100.0) == window


def test_a_clip_is_opus_that_another_reader_takes() -> None:
    """libsndfile reads what FFmpeg's encoder wrote."""
    samples = a_sound(3.0, 2)
    head, _, text = clip_uri(samples).partition(",")
    assert head == "data:audio/ogg;base64"
    data = base64.b64decode(text)
    heard, rate = soundfile.read(io.BytesIO(data), dtype="float32")
    assert soundfile.info(io.BytesIO(data)).subtype == "OPUS"
    assert len(heard) / rate == pytest.approx(3.0, abs=0.05)
    spectrum = np.abs(np.fft.rfft(heard * np.hanning(len(heard))))
    assert np.argmax(spectrum) * rate / len(heard) == pytest.approx(400, abs=2)
    assert len(data) < 3.0 * 24_000 / 8 * 1.3


def test_the_same_sound_gives_the_same_text() -> None:
    assert clip_uri(a_sound(2.0, 1)) == clip_uri(a_sound(2.0, 1))


@pytest.mark.parametrize("samples", [1, 319, 320, 321])
def test_very_short_clips(samples: int) -> None:
    clip = clip_uri(np.zeros(samples, np.float32))
    heard, _ = soundfile.read(io.BytesIO(base64.b64decode(clip.partition(",")[2])))
    assert len(heard) >= samples * 48_000 // RATE - 2 or len(heard) > 0
