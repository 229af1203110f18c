"""The speech model: audio in, encoded audio, free text and token probabilities out."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.decoder import AudioMemory, Decoder, Decoding
from voxlog.speech.lockstep import take_part
from voxlog.speech.model_files import ModelFiles
from voxlog.speech.weights import as_table, as_weights, read_variables

__all__ = ["FRAMES_PER_SECOND", "SpeechModel"]

Floats = NDArray[np.float32]

FRAMES_PER_SECOND = 100
WINDOWS = (300, 600, 1000, 1500, 3000)
"""Frames an encoder window may have: Whisper was trained on 3000; short phrases in 300 to 600 are
recognised as well or better and cost a fifth (measured: DEVELOPERS.md)."""

HEAD = 64
"""Width of an attention head in every published Whisper size (Radford et al. 2022, table 1)."""
SILENCE = 2.0
"""How far under the loudest feature Whisper's own front end puts silence: 8 decades, over 4."""

_TOKENS = "decoder/embeddings/weight"
_ALIGNED_S = 2 / FRAMES_PER_SECOND
"""Seconds of audio in each of the encoder's frames."""


class _Asked(NamedTuple):
    """Encoded audio whose text is wanted, with `max_length` as CTranslate2 has it."""

    encoded: Floats
    most: int


class SpeechModel:
    """A Whisper model in CTranslate2 form, with its decoder's arrays beside it.

    Safe to use from several threads at once; ``threads`` of them work in parallel, each on one
    core.
    """

    def __init__(self, files: ModelFiles, threads: int) -> None:
        from faster_whisper import WhisperModel

        self.files = files
        self.threads = threads
        with ThreadPoolExecutor(1) as meanwhile:
            decoder = meanwhile.submit(_decoder, files)
            self._whisper = WhisperModel(
                str(files.folder),
                device="cpu",
                compute_type="int8",
                cpu_threads=1,
                num_workers=threads,
                local_files_only=True,
            )
            self._decoder = decoder.result()
        self._tokenizer: Any = self._whisper.hf_tokenizer
        self.end_of_text = self._token("<|endoftext|>")
        self.prompt = self._prompt()

    def _token(self, text: str) -> int:
        return int(self._tokenizer.token_to_id(text))

    def _prompt(self) -> list[int]:
        start = [self._token("<|startoftranscript|>")]
        if self._whisper.model.is_multilingual:
            start += [self._token("<|en|>"), self._token("<|transcribe|>")]
        return [*start, self._token("<|notimestamps|>")]

    def tokens(self, text: str) -> list[int]:
        """The tokens of a text, without any that mark its start or end."""
        return list(self._tokenizer.encode(text, add_special_tokens=False).ids)

    def encode(self, audio: Floats) -> Floats:
        """Encode 16 kHz mono audio of at most 30 s; (frames / 2, width)."""
        features = self._whisper.feature_extractor(audio, padding=0)
        window = next((w for w in WINDOWS if w >= features.shape[1]), WINDOWS[-1])
        held = np.full((features.shape[0], window), features.max() - SILENCE, np.float32)
        held[:, : features.shape[1]] = features[:, :window]
        encoded: Floats = np.asarray(self._whisper.encode(held))[0]
        return encoded

    def listen(self, encoded: Floats) -> AudioMemory:
        """Prepare encoded audio for any number of decodings."""
        return self._decoder.listen(encoded)

    def decoding(self, memory: AudioMemory) -> Decoding:
        """An empty tree over the audio."""
        return Decoding(self._decoder, memory)

    def transcribe(self, encoded: Floats, most: int) -> list[int]:
        """The tokens of the likeliest text, greedily and without any prompt.

        most: tokens of the prompt and of twice the text, because CTranslate2 stops at half of what
        it is told (`max_length` of its Whisper; as OpenAI's decoding.py has it).
        """
        return take_part(self._transcribed, _Asked(encoded, len(self.prompt) + most))

    def _transcribed(self, asked: Sequence[_Asked]) -> list[list[int]]:
        """Texts of several stretches of audio; those of one length together.

        Each is cut where it would have been stopped alone.
        """
        found: list[list[int]] = [[] for _ in asked]
        for frames in sorted({len(one.encoded) for one in asked}):
            alike = [n for n, one in enumerate(asked) if len(one.encoded) == frames]
            most = max(asked[n].most for n in alike)
            texts = self._generated(np.stack([asked[n].encoded for n in alike]), most)
            for n, tokens in zip(alike, texts, strict=True):
                found[n] = tokens[: asked[n].most // 2]
        return found

    def _generated(self, encoded: Floats, most: int) -> list[list[int]]:
        import ctranslate2

        results = self._whisper.model.generate(
            ctranslate2.StorageView.from_array(np.ascontiguousarray(encoded)),
            [self.prompt] * len(encoded),
            beam_size=1,
            max_length=most,
            no_repeat_ngram_size=3,
            suppress_blank=True,
        )
        return [
            [token for token in one.sequences_ids[0] if token < self.end_of_text] for one in results
        ]

    def begins(self, encoded: Floats, words: Sequence[str], seconds: float) -> Floats:
        """When each word of a text that was said begins, and when the last one ends.

        seconds: of audio that was encoded. Returns (words + 1,) seconds from its start, by dynamic
        time warping of the decoder's attention to the audio. What goes before the first word counts
        as part of it.
        """
        import ctranslate2

        tokens = [self.tokens(f" {word}") for word in words]
        (found,) = self._whisper.model.align(
            ctranslate2.StorageView.from_array(np.ascontiguousarray(encoded[np.newaxis])),
            self.prompt[:-1],  # it adds the last one, without time stamps, by itself
            [[token for word in tokens for token in word]],
            min(2 * len(encoded), round(seconds * FRAMES_PER_SECOND)),
        )
        token, frame = np.array(found.alignments).T
        starts = frame[np.diff(token, prepend=-1) > 0]
        places = np.cumsum([0, *map(len, tokens)])
        begins: Floats = (starts[places] * _ALIGNED_S).astype(np.float32)
        return begins

    def text(self, tokens: list[int]) -> str:
        """The words of tokens."""
        return str(self._tokenizer.decode(tokens)).strip()


def _decoder(files: ModelFiles) -> Decoder:
    variables = read_variables(files.folder / "model.bin")
    weights = as_weights(variables, "decoder/", but=_TOKENS)
    table = as_table(variables, _TOKENS)
    return Decoder(weights, table, table.shape[1] // HEAD)
