"""One audio file: what it is, and its samples in order at its own rate.

libsndfile reads WAV of every kind, FLAC, Ogg, AIFF and CAF; FFmpeg (through PyAV) reads M4A and the
rest. MP3 goes to FFmpeg although libsndfile reads it: without a Xing header libsndfile estimates
the length from the first frame and stops there (10 s of variable-rate MP3 ended after 1.7 s).
"""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from voxlog.audio.mp3 import read_xing_frames
from voxlog.audio.riff import find_chunk, promised_frames, read_chunks
from voxlog.errors import InputError

__all__ = ["AudioFile", "DamagedAudioError", "Samples", "inspect_audio"]

Samples = NDArray[np.float32]
"""A block of decoded samples, shape (n, channels), 1.0 being full scale."""

READ_FRAMES = 16_384
READ_FRAMES_OF_FLAC = 4096
"""Frames a read. libsndfile gives nothing of a read in which a cut-off FLAC ends, so: few."""

LOWEST_RATE, HIGHEST_RATE = 4_000, 768_000
"""Samples a second that a recording of speech can have; a damaged header may say 1."""

# Only what begins so: libsndfile would try anything else as MP3 and print what it thinks of it.
_OF_LIBSNDFILE = (b"RIFF", b"RF64", b"BW64", b"riff", b"fLaC", b"OggS", b"FORM", b"caff", b".snd")
_UNKNOWN_FRAMES = 2**62  # libsndfile's mark for "the header does not say" is 2**63 - 1
_STEP_OF_16_BITS = 1 / 32768
_STEPS = {"PCM_S8": 1 / 128, "PCM_U8": 1 / 128}
# What an audio file may be. FFmpeg would also take playlists and subtitles, which open other files.
_CONTAINERS = "mov,mp4,m4a,aac,mp3,wav,w64,flac,ogg,matroska,webm,asf,aiff,caf,amr,ac3,eac3"
# What FFmpeg says of others is a guess from the bit rate: 3.0 s of raw AAC were called 4.2 s.
_WITH_LENGTH = ("mov,mp4,m4a,3gp,3g2,mj2", "caf", "matroska,webm", "asf")


class DamagedAudioError(Exception):
    """Raised after the last good block; the text is the decoder's."""


@dataclass(frozen=True)
class AudioFile:
    """A file that can be decoded. `decode` starts again from its beginning at each call.

    `promised_frames` is what the header says there should be and `frames` what the decoder expects
    to give (less where the file is visibly cut off); None where they cannot be known beforehand.
    """

    path: Path
    channels: int
    rate: int
    frames: int | None
    promised_frames: int | None
    full_scale: float
    decode: Callable[[Path], Iterator[Samples]]

    def blocks(self) -> Iterator[Samples]:
        """Small blocks in order; DamagedAudioError after the last where the decoder gave up."""
        return self.decode(self.path)


class _ForwardFile(soundfile.SoundFile):  # type: ignore[misc]  # soundfile has no types
    """A sound file that is never sought in.

    soundfile seeks after every read; on a cut-off FLAC that hangs or raises
    (bastibe/python-soundfile#385).
    """

    def seekable(self) -> bool:
        return False


def inspect_audio(path: Path) -> AudioFile:
    """Finds the decoder for a regular, readable file.

    Raises:
        InputError: the file holds no audio that can be decoded.
    """
    found = _inspect_with_libsndfile(path) or _inspect_with_ffmpeg(path)
    if found is None:
        raise InputError(f"{path}: {_why_not(path)}")
    if not LOWEST_RATE <= found.rate <= HIGHEST_RATE:
        raise InputError(
            f"{path}: {found.rate} samples a second by its header, which is no rate for speech;"
            " the header is damaged, convert the file anew"
        )
    return found


def _why_not(path: Path) -> str:
    if find_chunk(read_chunks(path), b"data"):
        return "no audio in it (0 samples); record again or name another file"
    return (
        "not audio that can be read; give WAV, FLAC, Ogg, MP3 or M4A"
        " (a file whose recording was not ended properly may need repair first)"
    )


def _inspect_with_libsndfile(path: Path) -> AudioFile | None:
    """None also for a WAV whose header says 0 samples.

    Where a recorder lost power all the audio may be there all the same, and FFmpeg reads it.
    """
    with path.open("rb") as start:
        if not start.read(4).startswith(_OF_LIBSNDFILE):
            return None
    try:
        with _ForwardFile(os.fsencode(path.absolute())) as file:
            is_mp3 = file.subtype.startswith("MPEG")
            return None if is_mp3 or file.frames == 0 else _describe(path, file)
    except soundfile.LibsndfileError:
        return None


def _describe(path: Path, file: soundfile.SoundFile) -> AudioFile:
    frames = file.frames if file.frames < _UNKNOWN_FRAMES else None
    promised = promised_frames(path, read_chunks(path)) if file.format != "FLAC" else frames
    return AudioFile(
        path=path,
        channels=file.channels,
        rate=file.samplerate,
        frames=frames,
        promised_frames=promised,
        full_scale=1.0 - _STEPS.get(file.subtype, _STEP_OF_16_BITS),
        decode=_decode_with_libsndfile,
    )


def _decode_with_libsndfile(path: Path) -> Iterator[Samples]:
    try:
        with _ForwardFile(os.fsencode(path.absolute())) as file:
            size = READ_FRAMES_OF_FLAC if file.format == "FLAC" else READ_FRAMES
            while len(block := file.read(size, dtype="float32", always_2d=True)):
                yield block
    except soundfile.LibsndfileError as error:
        raise DamagedAudioError(error.error_string.strip() or "decoder error") from error


def _inspect_with_ffmpeg(path: Path) -> AudioFile | None:
    import av  # 100 MB of FFmpeg: only for the files that need it

    try:
        with av.open(f"file:{path.absolute()}", "r", options=_options()) as container:
            if not container.streams.audio:
                return None
            stream = container.streams.audio[0]
            if next(container.decode(stream), None) is None:
                return None
            frames = read_xing_frames(path) if container.format.name == "mp3" else None
            if container.format.name in _WITH_LENGTH and stream.duration and stream.time_base:
                frames = round(stream.duration * stream.time_base * stream.rate)
            return AudioFile(
                path=path,
                channels=stream.channels,
                rate=stream.rate,
                frames=frames,
                promised_frames=frames,
                full_scale=1.0 - _STEP_OF_16_BITS,
                decode=_decode_with_ffmpeg,
            )
    except (av.FFmpegError, OSError, ValueError):
        return None


def _decode_with_ffmpeg(path: Path) -> Iterator[Samples]:
    import av

    bad_packets = 0
    try:
        with av.open(f"file:{path.absolute()}", "r", options=_options()) as container:
            stream = container.streams.audio[0]
            # Packed: with a plane a channel, PyAV reads beyond the eighth and crashes.
            as_float = av.AudioResampler(format="flt", layout=stream.layout, rate=stream.rate)
            for packet in container.demux(stream):
                try:
                    frames = packet.decode()
                except av.FFmpegError:
                    bad_packets += 1
                    continue
                for frame in frames:
                    for part in as_float.resample(frame):
                        packed = np.asarray(part.to_ndarray(), dtype=np.float32)
                        yield packed.reshape(-1, stream.channels)
    except (av.FFmpegError, OSError, ValueError) as error:
        raise DamagedAudioError(str(error)) from error
    if bad_packets:
        raise DamagedAudioError(f"{bad_packets} packets not decoded")


def _options() -> dict[str, str]:
    return {"format_whitelist": _CONTAINERS, "protocol_whitelist": "file"}
