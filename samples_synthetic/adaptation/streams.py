"""Endless pairs of the same speech, clean and as an intercom would have it, for training.

A minute of clips by many voices is put together, sent through a random intercom (band, echo, noise,
clipping), treated as voxlog treats a channel (audio/denoise.py), and cut where the segmenter might
cut. Hum, squelch, masks, fans, strained voices and several people at once are left out on purpose:
`python -m tests.bench unseen` measures on those as conditions that nothing was fitted to.
"""

import multiprocessing
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from faster_whisper.feature_extractor import FeatureExtractor
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, resample_poly, sosfiltfilt

from samples_synthetic.noise import breathing, compressor
from voxlog.audio.denoise import Denoiser
from voxlog.speech.model import SILENCE

__all__ = ["BATCH", "Clip", "Pair", "batches", "batches_meanwhile"]

Wave = NDArray[np.float64]

RATE = 16_000
LENGTH = 60 * RATE
BATCH = {300: 10, 600: 5}
"""Pairs in a batch by the frames of their window: both kinds cost about the same."""

_PEAK = 0.25
_WAITING = 16
_BLOCK = 5 * RATE


class Clip(NamedTuple):
    """A line as a voice says it, 16 kHz, and ways to write it."""

    wave: NDArray[np.float32]
    wordings: tuple[str, ...]


class Pair(NamedTuple):
    """A cut: features (80, frames) as the intercom has it and clean; frames with sound; words."""

    heard: NDArray[np.float32]
    clean: NDArray[np.float32]
    frames: int
    words: str


class _Cut(NamedTuple):
    start: int
    end: int
    words: str


def batches(clips: Sequence[Clip], seed: int) -> Iterator[list[Pair]]:
    """Batches of pairs whose windows are equally long, without end."""
    rng = np.random.default_rng(seed)
    waiting: dict[int, list[Pair]] = {window: [] for window in BATCH}
    while True:
        for _ in range(4):  # so that one batch does not hear one noise only
            for pair in _pairs(clips, rng):
                waiting[pair.heard.shape[1]].append(pair)
        for window, pairs in waiting.items():
            rng.shuffle(pairs)  # type: ignore[arg-type]
            while len(pairs) >= BATCH[window]:
                yield [pairs.pop() for _ in range(BATCH[window])]


def batches_meanwhile(clips: Sequence[Clip], seed: int) -> Iterator[list[Pair]]:
    """The same, made by a process of their own while the last batch is learned from."""
    context = multiprocessing.get_context("spawn")
    queue = context.Queue(_WAITING)
    context.Process(target=_feed, args=(queue, clips, seed), daemon=True).start()
    while True:
        yield queue.get()


def _feed(queue: "multiprocessing.Queue[list[Pair]]", clips: Sequence[Clip], seed: int) -> None:
    for batch in batches(clips, seed):
        queue.put(batch)


def _pairs(clips: Sequence[Clip], rng: np.random.Generator) -> Iterator[Pair]:
    clean, spans = _speech(clips, rng)
    heard = _treated(_intercom(clean, spans, clips, rng), rng)
    for cut in _cuts(spans, len(clean), rng):
        part = clean[cut.start : cut.end]
        features, frames = _features(part / np.abs(part).max() * _PEAK)
        yield Pair(_features(heard[cut.start : cut.end])[0], features, frames, cut.words)


def _speech(clips: Sequence[Clip], rng: np.random.Generator) -> tuple[Wave, list[_Cut]]:
    clean, spans = np.zeros(LENGTH), []
    at = int(RATE * rng.uniform(1, 4))
    while True:
        clip = clips[rng.integers(len(clips))]
        wave = _varied(clip.wave, rng) * 10 ** (rng.uniform(-5, 5) / 20)
        if at + len(wave) + RATE > LENGTH:
            return clean, spans
        clean[at : at + len(wave)] += wave
        spans.append(_Cut(at, at + len(wave), str(rng.choice(clip.wordings))))
        close = rng.random() < 0.4
        at += len(wave) + int(RATE * (rng.uniform(0.1, 0.5) if close else rng.uniform(0.5, 2)))


def _varied(wave: NDArray[np.float32], rng: np.random.Generator) -> Wave:
    """A clip, half of them with pitch and formants shifted by up to an eighth."""
    if rng.random() < 0.5:
        return np.asarray(resample_poly(wave, 100, int(rng.integers(88, 114))), np.float64)
    return wave.astype(np.float64)


def _intercom(
    clean: Wave, spans: list[_Cut], clips: Sequence[Clip], rng: np.random.Generator
) -> Wave:
    wave = _echoed(clean, rng) if rng.random() < 0.25 else clean
    band = butter(4, _band(rng), btype="bandpass", fs=RATE, output="sos")
    wave = np.asarray(sosfiltfilt(band, wave))
    spoken = np.zeros(LENGTH, bool)
    for span in spans:
        spoken[span.start : span.end] = True
    over = rng.choice([rng.uniform(-3, 12), rng.uniform(5, 25), 40.0], p=[0.65, 0.25, 0.1])
    noise = _unit(np.asarray(sosfiltfilt(band, _noise(clips, rng))))
    wave = wave + noise * np.sqrt(np.mean(wave[spoken] ** 2) / 10 ** (over / 10))
    if rng.random() < 0.2:
        limit = np.abs(wave).max() / 10 ** (rng.uniform(2, 12) / 20)
        wave = np.clip(wave, -limit, limit)
    return np.asarray(wave / np.abs(wave).max() * _PEAK)


def _band(rng: np.random.Generator) -> tuple[float, float]:
    kind = rng.random()
    if kind < 0.6:
        return 300.0, 3400.0  # ITU-T Rec. G.712
    if kind < 0.85:
        return rng.uniform(100, 450), rng.uniform(2600, 5500)
    return 60.0, 7800.0


def _echoed(wave: Wave, rng: np.random.Generator) -> Wave:
    length = int(RATE * rng.uniform(0.05, 0.25))
    echo = rng.standard_normal(length) * np.exp(-np.arange(length) / (length / 5))
    echo *= rng.uniform(0.1, 0.6) / np.sqrt((echo**2).sum())
    echo[0] = 1
    return np.asarray(fftconvolve(wave, echo)[: len(wave)])


def _noise(clips: Sequence[Clip], rng: np.random.Generator) -> Wave:
    kind = rng.random()
    if kind < 0.5:
        noise = compressor(LENGTH, rng, rng.uniform(35, 75))
        if rng.random() < 0.75:
            breaths = breathing(LENGTH, rng, rng.uniform(9, 24))
            noise = noise + 10 ** (rng.uniform(-12, 2) / 20) * breaths
    elif kind < 0.8:
        noise = _coloured(rng)
    elif kind < 0.9:
        noise = _coloured(rng) + 10 ** (rng.uniform(-15, 0) / 20) * _tones(rng)
    else:
        noise = _coloured(rng) + 10 ** (rng.uniform(-6, 3) / 20) * _unit(_speech(clips, rng)[0])
    if rng.random() < 0.25:
        time = np.arange(LENGTH) / RATE
        swell = np.sin(2 * np.pi * rng.uniform(0.05, 0.6) * time + rng.uniform(0, 2 * np.pi))
        noise = noise * (1 + rng.uniform(0.1, 0.6) * swell)
    return noise


def _coloured(rng: np.random.Generator) -> Wave:
    """Noise of a random smooth spectrum."""
    edges = np.array([0, 150, 300, 600, 1000, 1700, 2600, 3600, 5000, 8000])
    level = rng.normal(0, 9, len(edges))
    level -= np.log2(np.maximum(edges, 100) / 1000) * rng.uniform(0, 6)
    frequency = np.fft.rfftfreq(LENGTH, 1 / RATE)
    spectrum = np.fft.rfft(rng.standard_normal(LENGTH))
    return _unit(np.fft.irfft(spectrum * 10 ** (np.interp(frequency, edges, level) / 20), LENGTH))


def _tones(rng: np.random.Generator) -> Wave:
    """A few tones that waver."""
    time, tones = np.arange(LENGTH) / RATE, np.zeros(LENGTH)
    for _ in range(rng.integers(1, 8)):
        waver = rng.uniform(0, 3) * np.sin(2 * np.pi * rng.uniform(0.1, 2) * time)
        phase = 2 * np.pi * rng.uniform(150, 3000) * time + rng.uniform(0, 2 * np.pi)
        tones += rng.uniform(0.2, 1) * np.sin(phase + waver)
    return _unit(tones)


def _treated(wave: Wave, rng: np.random.Generator) -> Wave:
    if rng.random() > 0.9:
        return wave
    denoiser = Denoiser()
    blocks = np.split(wave.astype(np.float32), range(_BLOCK, LENGTH, _BLOCK))
    return np.concatenate([*map(denoiser.push, blocks), denoiser.finish()]).astype(np.float64)


def _cuts(spans: list[_Cut], length: int, rng: np.random.Generator) -> Iterator[_Cut]:
    """Where a segment may begin and end: one clip, or several that are close."""
    longest = max(BATCH) / 100
    first = 0
    while first < len(spans):
        last = first
        while (
            last + 1 < len(spans)
            and rng.random() < 0.3
            and spans[last + 1].end - spans[first].start < (longest - 0.4) * RATE
        ):
            last += 1
        start = max(0, spans[first].start - int(RATE * rng.uniform(-0.03, 0.3)))
        end = min(length, spans[last].end + int(RATE * rng.uniform(0, 0.3)))
        if 0.25 * RATE < end - start <= (longest - 0.05) * RATE:
            yield _Cut(start, end, " ".join(span.words for span in spans[first : last + 1]))
        first = last + 1


def _features(wave: Wave) -> tuple[NDArray[np.float32], int]:
    """Log mel features in a window as SpeechModel.encode fills it, and the frames with sound."""
    features = _EXTRACTOR(wave.astype(np.float32), padding=0)
    window = next(window for window in sorted(BATCH) if window >= features.shape[1])
    held = np.full((features.shape[0], window), features.max() - SILENCE, np.float32)
    held[:, : features.shape[1]] = features
    return held, features.shape[1]


def _unit(wave: Wave) -> Wave:
    return np.asarray(wave / np.sqrt(np.mean(wave**2)))


_EXTRACTOR = FeatureExtractor()
