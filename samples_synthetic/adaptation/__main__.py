"""Fits the speech model to intercoms: `python -m samples_synthetic.adaptation --help`."""

import argparse
import hashlib
import random
import sys
import tarfile
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from samples_synthetic import synthesiser
from samples_synthetic.adaptation.lines import random_line
from samples_synthetic.adaptation.streams import Clip, batches_meanwhile
from samples_synthetic.clips import cache_folder
from voxlog.errors import InputError
from voxlog.numbers.normalise import normalise
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model

# English voices of Kokoro-82M that samples_synthetic/voices.py has no part in: neither those that
# set constants nor those that measure.
VOICES = (
    *("af_alloy", "af_aoede", "af_jessica", "af_nicole", "af_nova", "af_river", "af_sky"),
    *("am_adam", "am_echo", "am_liam", "am_onyx", "am_santa"),
    *("bf_alice", "bf_lily", "bm_daniel", "bm_lewis"),
)
_STYLES_SHA256 = "1f0d0383ef0349af0bd9440d81dc12abbea3a5392eb645283eda876f537f5860"
_MODEL = "tiny.en"
_EVERY = 20
_MOST_TOKENS = 40


def main() -> int:
    """Exit status: 0 trained, 2 bad input."""
    options = _parser().parse_args()
    try:
        lines = _lines(options.voices, options.clips)
        speech = SpeechModel(find_model(_MODEL, Path(tempfile.gettempdir())), 1)
    except InputError as error:
        print(f"samples_synthetic.adaptation: {error}", file=sys.stderr)
        return 2
    # Not before: the processes that make the audio need none of it.
    from samples_synthetic.adaptation.train import Course, load_changes, save_changes, train

    begun = load_changes(options.go_on) if options.go_on else None
    clips = [Clip(wave, _wordings(speech, wave, text)) for wave, text in lines]
    pairs = batches_meanwhile(clips, options.seed)
    words = [wording for clip in clips for wording in clip.wordings]
    note = _Progress().note
    course = Course(options.steps, options.rate)
    changes = train(speech, words, pairs, course, begun, note)
    save_changes(options.out, changes)
    return 0


class _Progress:
    """A line every so many batches."""

    def __init__(self) -> None:
        self._seen: list[tuple[float, float]] = []

    def note(self, number: int, missed: float, off: float) -> None:
        self._seen.append((missed, off))
        if number % _EVERY == 0:
            missed, off = (sum(last) / _EVERY for last in zip(*self._seen[-_EVERY:], strict=True))
            print(
                f"batch {number}: {missed:.3f} of the clean output's variance missed, "
                f"expectation off by {off:.3f} nats a token",
                flush=True,
            )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m samples_synthetic.adaptation")
    parser.add_argument("--voices", type=Path, required=True, help="kokoro-js-1.2.1.tgz, from npm")
    parser.add_argument("--out", type=Path, required=True, help="the changes, an .npz file")
    parser.add_argument("--go-on", type=Path, help="changes to go on from")
    parser.add_argument("--clips", type=int, default=700, help="lines spoken, 2 s each")
    parser.add_argument("--steps", type=int, default=1500)
    parser.add_argument("--rate", type=float, default=1.5e-3, help="of learning, at its highest")
    parser.add_argument("--seed", type=int, default=1)
    return parser


def _wordings(speech: SpeechModel, wave: NDArray[np.float32], text: str) -> tuple[str, str]:
    """A line as a sheet's words are listened for, and as the published model writes it down."""
    written = speech.transcribe(speech.encode(wave), _MOST_TOKENS)
    return normalise(text), speech.text(written)


def _lines(voices: Path, count: int) -> list[tuple[NDArray[np.float32], str]]:
    """Lines by all voices, spoken once and kept in the cache."""
    styles = _styles(voices)
    folder = cache_folder() / "adaptation"
    folder.mkdir(parents=True, exist_ok=True)
    # Its own voices only: the synthesiser knows those of the practice recordings.
    synthesiser.style_of = lambda voice, phonemes: styles[voice][phonemes - 1 : phonemes]
    lines = []
    for number in range(count):
        path = folder / f"{number:05}.flac"
        rng = random.Random(number)
        speed, text = round(rng.uniform(0.8, 1.45), 2), random_line(rng)
        if not path.exists():
            line = synthesiser.Line(VOICES[number % len(VOICES)], speed, text)
            soundfile.write(path, synthesiser.synthesise(line), synthesiser.RATE)
        lines.append((soundfile.read(path, dtype="float32")[0], text))
    return lines


def _styles(voices: Path) -> dict[str, NDArray[np.float32]]:
    try:
        digest = hashlib.sha256(voices.read_bytes()).hexdigest()
    except OSError as error:
        raise InputError(f"{voices}: {error.strerror}; run: npm pack kokoro-js@1.2.1") from error
    if digest != _STYLES_SHA256:
        raise InputError(f"{voices}: not kokoro-js 1.2.1; run: npm pack kokoro-js@1.2.1")
    with tarfile.open(voices) as archive:
        return {voice: _style(archive, voice) for voice in VOICES}


def _style(archive: tarfile.TarFile, voice: str) -> NDArray[np.float32]:
    file = archive.extractfile(f"package/voices/{voice}.bin")
    data = file.read() if file else b""
    return np.frombuffer(data, np.float32).reshape(-1, 256)


if __name__ == "__main__":
    sys.exit(main())
