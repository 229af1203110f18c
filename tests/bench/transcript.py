"""The obvious pipeline's ears: faster-whisper over the whole recording, cut into spoken lines.

The settings are those that its users recommend for radio speech: beam 5, its own voice activity
filter, no conditioning on earlier text (which makes it repeat itself after noise). No prompt with
the expected words either, unless asked for: on silence Whisper then says them. Word times are asked
for, because a Whisper segment often joins a challenge and its answer; lines end where a sentence or
a pause does.
"""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voxlog.speech.model_files import find_model

__all__ = ["Line", "Transcriber", "Word", "cut_into_lines", "whole_words"]

BEAM = 5
PAUSE_S = 0.8
"""Silence between words that parts two lines."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word with its times in seconds, as Whisper's own alignment gives them."""

    start: float
    end: float
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """What was transcribed between two pauses or full stops."""

    words: tuple[Word, ...]

    @property
    def start(self) -> float:
        return self.words[0].start

    @property
    def end(self) -> float:
        return self.words[-1].end

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


class Transcriber:
    """faster-whisper, loaded once.

    hot_words, prompt: what it is told to expect. Given a prompt, it works in batches: one window
    after the other, faster-whisper shows it to the first window of half a minute alone.
    """

    def __init__(
        self,
        cache: Path,
        model: str = "base",
        *,
        hot_words: str | None = None,
        prompt: str | None = None,
    ) -> None:
        from faster_whisper import BatchedInferencePipeline, WhisperModel

        self._whisper: Any = WhisperModel(
            str(find_model(model, cache).folder),
            device="cpu",
            compute_type="int8",
            cpu_threads=len(os.sched_getaffinity(0)),
            local_files_only=True,
        )
        self._hints: dict[str, str] = {}
        if hot_words:
            self._hints["hotwords"] = hot_words
        if prompt:
            self._hints["initial_prompt"] = prompt
            self._whisper = BatchedInferencePipeline(self._whisper)

    def lines(self, audio: Path) -> list[Line]:
        """A recording's lines in order of time."""
        segments, _ = self._whisper.transcribe(
            str(audio),
            beam_size=BEAM,
            language="en",
            vad_filter=True,
            condition_on_previous_text=False,
            word_timestamps=True,
            **self._hints,
        )
        parts = (
            Word(word.start, word.end, word.word) for segment in segments for word in segment.words
        )
        return list(cut_into_lines(whole_words(parts)))


def whole_words(parts: Iterable[Word]) -> list[Word]:
    """Join what Whisper has cut within a word: of " 25" and ",000" only one starts with a blank."""
    words: list[Word] = []
    for part in parts:
        if words and not part.text.startswith(" "):
            words[-1] = Word(words[-1].start, part.end, words[-1].text + part.text)
        else:
            words.append(Word(part.start, part.end, part.text.strip()))
    return words


def cut_into_lines(words: Iterable[Word]) -> Iterator[Line]:
    """Cut after a full stop, question or exclamation mark, and at a pause."""
    line: list[Word] = []
    for word in words:
        if line and (_ends_sentence(line[-1].text) or word.start - line[-1].end > PAUSE_S):
            yield Line(tuple(line))
            line = []
        line.append(word)
    if line:
        yield Line(tuple(line))


def _ends_sentence(word: str) -> bool:
    return word.endswith((".", "?", "!"))
