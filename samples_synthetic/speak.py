"""The clip of every line of a script: which voice, how fast, and with what done to it."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from samples_synthetic.clips import speak_all
from samples_synthetic.scenario import Scenario
from samples_synthetic.script import Said, Script
from samples_synthetic.setting import Setting
from samples_synthetic.synthesiser import RATE, Line
from samples_synthetic.talk import ASIDE
from samples_synthetic.voices import other_accent_of
from samples_synthetic.voicing import joined, revoiced

__all__ = ["Clip", "ClipOf", "Progress", "asides", "speak", "words_a_minute"]

Clip = NDArray[np.int16]
ClipOf = Callable[[Said], Clip]
Progress = Callable[[int, int], None]

_Spoken = tuple[str, str]
"""A position and its words."""

_ONE_WORD_SPEED = 0.9  # alone, the synthesiser swallows the ends of single words at full speed


def speak(scenario: Scenario, script: Script, setting: Setting, progress: Progress) -> ClipOf:
    """The clip of each line. Settings of the voice are applied, all others are not.

    progress: called with (lines spoken, lines to speak) while new lines are synthesised.
    """
    spoken = list(dict.fromkeys((said.position, said.text) for said in _all_said(script)))
    if setting.rate is not None:
        scenario = _paced(scenario, spoken, setting.rate, progress)
    lines = {one: list(_lines(scenario, one, setting)) for one in spoken}
    clips = speak_all((line for each in lines.values() for line in each), progress)
    made = {one: joined([clips[line] for line in each]) for one, each in lines.items()}
    if setting.is_revoiced:
        change = (setting.pitch, setting.formants, setting.strain)
        made = {one: revoiced(clip, *change) for one, clip in made.items()}
    return lambda said: made[said.position, said.text]


def asides(scenario: Scenario, progress: Progress) -> list[Clip]:
    """Talk that belongs to nobody's work, by the voices of the cast in turn."""
    voices = [cast.voice for cast in scenario.cast.values()]
    lines = [Line(voices[n % len(voices)], 1.0, f"{text}.") for n, text in enumerate(ASIDE)]
    clips = speak_all(lines, progress)
    return [clips[line] for line in lines]


def words_a_minute(clips: Mapping[_Spoken, Clip], position: str) -> float:
    """How fast a position speaks while it speaks."""
    own = {one: clip for one, clip in clips.items() if one[0] == position}
    words = sum(len(text.split()) for _, text in own)
    return 60 * words * RATE / sum(map(len, own.values()))


def _paced(scenario: Scenario, spoken: list[_Spoken], rate: float, progress: Progress) -> Scenario:
    """The scenario with each voice's speed such that it speaks so many words a minute."""
    lines = {one: next(_lines(scenario, one, Setting())) for one in spoken}
    clips = speak_all(lines.values(), progress)
    usual = {one: clips[line] for one, line in lines.items()}
    speaking = dict.fromkeys(position for position, _ in spoken)
    cast = {
        position: voice.model_copy(
            update={"speed": voice.speed * rate / words_a_minute(usual, position)}
        )
        if position in speaking
        else voice
        for position, voice in scenario.cast.items()
    }
    return replace(scenario, cast=cast)


def _lines(scenario: Scenario, spoken: _Spoken, setting: Setting) -> Iterator[Line]:
    """One line, or one for each breath."""
    position, text = spoken
    cast = scenario.cast[position]
    accent = other_accent_of(cast.voice) if setting.is_accented else ""
    words = text.split()
    count = setting.breath_words or len(words)
    for first in range(0, len(words), count):
        piece = " ".join(words[first : first + count])
        speed = cast.speed if " " in piece else cast.speed * _ONE_WORD_SPEED
        yield Line(cast.voice, round(speed, 3), f"{piece}.", accent)


def _all_said(script: Script) -> list[Said]:
    beats = [*script.beats, *(beat for _, beat in script.calls)]
    return [said for beat in beats for said in beat.said]
