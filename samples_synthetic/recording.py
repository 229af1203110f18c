"""A scenario to its files: audio.flac, truth.csv and a copy of the scenario."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal, get_args

import soundfile

from samples_synthetic.render import Mix, Placed, Sound, heard_part, render
from samples_synthetic.scenario import Scenario
from samples_synthetic.setting import Setting
from samples_synthetic.setting_mix import render_setting
from samples_synthetic.speak import Clip, ClipOf, Progress, asides, speak
from samples_synthetic.synthesiser import RATE
from samples_synthetic.timeline import Spoken, lay_out
from samples_synthetic.truth import true_events
from samples_synthetic.walk import write_script
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.table import write_table

__all__ = ["CONDITIONS", "Condition", "make_recording", "spoken_lines", "write_recording"]

Condition = Literal["clean", "10", "5", "0"]
"""dB of speech over noise."""

CONDITIONS: tuple[Condition, ...] = get_args(Condition)


def write_recording(
    scenario: Scenario,
    folder: Path,
    condition: Condition | None,
    progress: Progress,
    setting: Setting | None = None,
    people: Sequence[Clip] = (),
) -> float:
    """Render into a folder; the recording's length in seconds.

    condition: in place of the scenario's own speech over noise. setting: in place of all of the
    scenario's own sound. people: clips of real voices, for a setting with such talk.
    progress: called with (lines spoken, lines to speak) while new lines are synthesised.
    """
    mix, events = make_recording(scenario, condition, progress, setting, people)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        soundfile.write(folder / "audio.flac", mix.recording, RATE, subtype="PCM_16")
        write_table(folder / "truth.csv", events)
        (folder / "scenario.yaml").write_text(scenario.text, encoding="utf-8")
    except (OSError, soundfile.LibsndfileError) as error:
        raise InputError(f"{folder}: {error}; name a folder that can be written") from None
    return len(mix.recording) / RATE


def make_recording(
    scenario: Scenario,
    condition: Condition | None,
    progress: Progress,
    setting: Setting | None = None,
    people: Sequence[Clip] = (),
) -> tuple[Mix, list[Event]]:
    """The mix and its truth."""
    script = write_script(scenario)
    clip_of = speak(scenario, script, setting or Setting(), progress)
    spoken = lay_out(script, lambda said: len(clip_of(said)) / RATE)
    placed = _placed(scenario, spoken, clip_of)
    if setting is None:
        channels = len(scenario.sheet.positions) if scenario.by_position else 1
        mix = render(placed, channels, _sound(scenario.sound, condition), scenario.seed)
    else:
        talk = asides(scenario, progress) if setting.talk == "crew" else people
        mix = render_setting(placed, setting, scenario.seed, talk)
    heard = [_as_heard(one, clip_of) for one in spoken]
    return mix, true_events(scenario.sheet, heard, len(mix.recording) / RATE)


def spoken_lines(scenario: Scenario, progress: Progress) -> list[tuple[float, float, str, str]]:
    """Every line of the recording in order: start and end in seconds, position, words."""
    script = write_script(scenario)
    clip_of = speak(scenario, script, Setting(), progress)
    spoken = lay_out(script, lambda said: len(clip_of(said)) / RATE)
    return sorted(
        (start, end, said.position, said.text)
        for one in spoken
        for said, start, end in zip(one.beat.said, one.starts, one.ends, strict=True)
    )


def _placed(scenario: Scenario, spoken: list[Spoken], clip_of: ClipOf) -> list[Placed]:
    channel = {position: n for n, position in enumerate(scenario.sheet.positions)}
    return [
        Placed(channel[said.position], round(start * RATE), clip_of(said))
        for one in spoken
        for said, start in zip(one.beat.said, one.starts, strict=True)
    ]


def _as_heard(one: Spoken, clip_of: ClipOf) -> Spoken:
    """The same beat with the times between which each line can be heard."""
    parts = [heard_part(clip_of(said)) for said in one.beat.said]
    starts = tuple(start + part[0] / RATE for start, part in zip(one.starts, parts, strict=True))
    ends = tuple(start + part[1] / RATE for start, part in zip(one.starts, parts, strict=True))
    return replace(one, starts=starts, ends=ends)


def _sound(sound: Sound, condition: Condition | None) -> Sound:
    if condition is None:
        return sound
    over = None if condition == "clean" else float(condition)
    return replace(sound, speech_over_noise=over)
