"""Clips of the recording to put into the page: Opus in Ogg, a few kB each."""

import base64
import io

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.debrief.sound import Window
from voxlog.follow.event import Event

__all__ = ["MOST", "clip_uri", "clip_window"]

MOST = 100
"""Clips in a page; findings beyond (the lightest) are heard in the full recording."""
_BEFORE, _AFTER = 1.0, 1.5
_BEFORE_UNHEARD = 6.0
_LONGEST = 16.0
_BITS_A_SECOND = 24_000


def clip_window(event: Event, seconds: float) -> Window:
    """What to play for a row: its words with some air, or, where nothing was heard, what was said
    before the run went on without it. seconds: length of the recording.
    """
    before = _BEFORE_UNHEARD if event.status == "skipped" else _BEFORE
    start = min(max(event.start - before, 0.0), max(seconds - 1.0, 0.0))
    return Window(start, max(min(event.end + _AFTER, start + _LONGEST, seconds), start))


def clip_uri(samples: NDArray[np.float32]) -> str:
    """A data URI of mono samples at 16 kHz. The same samples give the same text.

    Opus's quick search, without its filter for telephones, comes nearer to the recording than the
    slow one with it, at a third of the time (measured: DEVELOPERS.md).
    """
    import av

    buffer = io.BytesIO()
    # Without the bit-exact flags the stream's serial number is drawn by lot.
    options = {"fflags": "+bitexact"}
    with av.open(buffer, "w", format="ogg", options=options) as container:
        stream = container.add_stream("libopus", rate=RATE, layout="mono")
        stream.bit_rate = _BITS_A_SECOND
        stream.options = {
            "application": "audio",
            "compression_level": "0",
            "vbr": "constrained",
            "flags": "+bitexact",
        }
        stream.codec_context.open()
        pcm = (np.clip(samples, -1, 1) * 32767).astype(np.int16)
        whole = np.pad(pcm, (0, -len(pcm) % stream.codec_context.frame_size))
        frame = av.AudioFrame.from_ndarray(whole[np.newaxis], format="s16", layout="mono")
        frame.sample_rate, frame.pts = RATE, 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return f"data:audio/ogg;base64,{base64.b64encode(buffer.getvalue()).decode()}"
