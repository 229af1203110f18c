"""The end of a recording: each channel's AU file becomes FLAC, and goes when that is proved."""

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from voxlog.audio.store import StoredChannel
from voxlog.capture.au import read_header, read_samples
from voxlog.capture.journal import channel_files
from voxlog.disk import sync_directory
from voxlog.errors import InputError

__all__ = ["finish"]

READ_SAMPLES = 1 << 16


def finish(folder: Path) -> tuple[StoredChannel, ...]:
    """Turns the folder's `channel-N.au` into `channel-N.flac` of 16 bits at the same rate.

    All channels are cut to the same length, which after a crash may be some hundredths of a second.
    An AU file is removed when its FLAC is on the disk and decodes to the same samples. Can be
    called again after it was broken off: channels that are done stay.

    `audio.store.AudioStore` is not used: it knows 16 kHz only, and a device may have another rate.

    Raises:
        InputError: no audio there, or the disk is full or fails; the AU files are all still there.
    """
    paths = channel_files(folder, ".au", ".flac")
    if not paths:
        raise InputError(f"{folder}: no audio of a run; name the run's audio folder")
    samples = min(_count(path) for path in paths)
    if samples == 0:  # libsndfile makes no FLAC of nothing that it could read itself
        raise InputError(f"{folder}: no audio in it (0 samples); nothing was recorded")
    return tuple(_finish_channel(path, samples) for path in paths)


def _count(path: Path) -> int:
    """Samples in a channel's file, of either form."""
    if path.suffix == ".au":
        return read_header(path).samples_in(path.stat().st_size)
    try:
        return int(soundfile.info(os.fsencode(path)).frames)
    except soundfile.LibsndfileError as error:
        raise InputError(f"{path}: cannot be read ({error.error_string.strip()})") from error


def _finish_channel(path: Path, samples: int) -> StoredChannel:
    """The name is given when the file is whole, so a FLAC without an AU is one that was proved."""
    flac = path.with_suffix(".flac")
    try:
        if path.suffix == ".au":
            _encode(path, flac, samples)
            _prove(path, flac, samples)
            path.unlink()
            sync_directory(path.parent)
        with flac.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise _cannot_write(flac, error.strerror or str(error)) from error
    return StoredChannel(flac, _count(flac), digest)


def _encode(path: Path, flac: Path, samples: int) -> None:
    part = flac.with_name(flac.name + ".part")
    rate = read_header(path).rate
    try:
        with soundfile.SoundFile(
            os.fsencode(part), "w", rate, channels=1, format="FLAC", subtype="PCM_16"
        ) as file:
            for block in read_samples(path, samples):
                file.write(block)
    except (soundfile.LibsndfileError, AssertionError) as error:
        # AssertionError: what soundfile makes of samples that were not taken.
        part.unlink(missing_ok=True)
        raise _cannot_write(flac, getattr(error, "error_string", "") or "not all taken") from error
    with part.open("rb+") as whole:
        os.fsync(whole.fileno())
    part.rename(flac)
    sync_directory(flac.parent)


def _prove(path: Path, flac: Path, samples: int) -> None:
    """Compares digests of the samples as the FLAC gives them and as the AU has them."""
    kept, recorded = _digest(_decode(flac)), _digest(read_samples(path, samples))
    if kept != recorded:
        flac.unlink(missing_ok=True)
        raise _cannot_write(flac, "it does not hold what was written to it")


def _digest(blocks: Iterator[NDArray[np.int16]]) -> str:
    digest = hashlib.sha256()
    for block in blocks:
        digest.update(block.astype("<i2").tobytes())
    return digest.hexdigest()


def _decode(flac: Path) -> Iterator[NDArray[np.int16]]:
    try:
        with soundfile.SoundFile(os.fsencode(flac)) as file:
            yield from file.blocks(READ_SAMPLES, dtype="int16")
    except soundfile.LibsndfileError:
        return  # what is missing shows in the digest


def _cannot_write(flac: Path, reason: str) -> InputError:
    return InputError(
        f"{flac}: {reason.strip()}; the audio is still in {flac.with_suffix('.au').name},"
        " free some space and resume"
    )
