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
from samples_synthetic.adaptation.streams import batches_meanwhile
from samples_synthetic.clips import cache_folder
from voxlog.errors import InputError
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
_EVERY = 10


def main() -> int:
    """Exit status: 0 trained, 2 bad input."""
    options = _parser().parse_args()
    try:
        clips = _clips(options.voices, options.clips)
        model = find_model(_MODEL, Path(tempfile.gettempdir())).folder / "model.bin"
    except InputError as error:
        print(f"samples_synthetic.adaptation: {error}", file=sys.stderr)
        return 2
    # Not before: the processes that make the audio need none of it.
    from samples_synthetic.adaptation.train import load_changes, save_changes, train

    begun = load_changes(options.go_on) if options.go_on else None
    pairs = batches_meanwhile(clips, options.seed)
    changes = train(model, pairs, options.steps, options.rate, begun, _Progress().note)
    save_changes(options.out, changes)
    return 0


class _Progress:
    """A line every so many batches."""

    def __init__(self) -> None:
        self._missed: list[float] = []

    def note(self, number: int, missed: float) -> None:
        self._missed.append(missed)
        if number % _EVERY == 0:
            mean = sum(self._missed[-_EVERY:]) / _EVERY
            print(f"batch {number}: {mean:.3f} of the clean output's variance missed", flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m samples_synthetic.adaptation")
    parser.add_argument("--voices", type=Path, required=True, help="kokoro-js-1.2.1.tgz, from npm")
    parser.add_argument("--out", type=Path, required=True, help="the changes, an .npz file")
    parser.add_argument("--go-on", type=Path, help="changes to go on from")
    parser.add_argument("--clips", type=int, default=400, help="lines spoken, 2 s each")
    parser.add_argument("--steps", type=int, default=1500)
    parser.add_argument("--rate", type=float, default=1.5e-3, help="of learning, at its highest")
    parser.add_argument("--seed", type=int, default=1)
    return parser


def _clips(voices: Path, count: int) -> list[NDArray[np.float32]]:
    """Lines by all voices, spoken once and kept in the cache."""
    styles = _styles(voices)
    folder = cache_folder() / "adaptation"
    folder.mkdir(parents=True, exist_ok=True)
    # Its own voices only: the synthesiser knows those of the practice recordings.
    synthesiser.style_of = lambda voice, phonemes: styles[voice][phonemes - 1 : phonemes]
    clips = []
    for number in range(count):
        path = folder / f"{number:05}.flac"
        if not path.exists():
            rng = random.Random(number)
            speed, text = round(rng.uniform(0.8, 1.45), 2), random_line(rng)
            line = synthesiser.Line(VOICES[number % len(VOICES)], speed, text)
            soundfile.write(path, synthesiser.synthesise(line), synthesiser.RATE)
        clips.append(soundfile.read(path, dtype="float32")[0])
    return clips


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
