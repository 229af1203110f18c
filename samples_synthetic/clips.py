"""Keeps synthesised clips on disk, so that a line is spoken once however often it is used.

A noise condition changes the mix and not the speech, so rendering a scenario at four conditions
costs the synthesis of one. The cache is disposable: delete the folder and it is made again.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from samples_synthetic.synthesiser import ENGINE, RATE, Line, synthesise

__all__ = ["Clips", "cache_folder", "speak_all"]

Clips = dict[Line, NDArray[np.int16]]

_WORKERS = 2  # each has its own 92 MB model and one thread
_FEW = 4  # starting the workers costs more than synthesising so few in this process


def cache_folder() -> Path:
    """Where clips are kept: VOXLOG_CACHE if set, else .cache/voxlog-samples in the repository."""
    named = os.environ.get("VOXLOG_CACHE")
    return Path(named) if named else Path(__file__).parents[1] / ".cache" / "voxlog-samples"


def speak_all(lines: Iterable[Line], progress: Callable[[int, int], None]) -> Clips:
    """The clip of every line, from the cache where it is there.

    progress: called with (clips synthesised, clips to synthesise) as the work goes on.
    """
    wanted = list(dict.fromkeys(lines))
    missing = [line for line in wanted if not _path_of(line).exists()]
    if len(missing) <= _FEW:
        for done, line in enumerate(missing, start=1):
            _speak_to_cache(line)
            progress(done, len(missing))
    else:
        with ProcessPoolExecutor(_WORKERS, mp_context=get_context("spawn")) as pool:
            futures = [pool.submit(_speak_to_cache, line) for line in missing]
            for done, future in enumerate(as_completed(futures), start=1):
                future.result()
                progress(done, len(missing))
    return {line: _read(line) for line in wanted}


def _speak_to_cache(line: Line) -> None:
    path = _path_of(line)
    path.parent.mkdir(parents=True, exist_ok=True)
    clip = synthesise(line)
    with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
        soundfile.write(part, clip, RATE, format="FLAC", subtype="PCM_16")
    Path(part.name).replace(path)


def _read(line: Line) -> NDArray[np.int16]:
    clip, _ = soundfile.read(_path_of(line), dtype="int16")
    return np.asarray(clip, dtype=np.int16)


def _path_of(line: Line) -> Path:
    key = f"{line.voice}|{line.speed:.3f}|{line.text}"
    if line.accent:
        key += f"|{line.accent}"
    name = hashlib.sha256(key.encode()).hexdigest()
    return cache_folder() / ENGINE / name[:2] / f"{name}.flac"
