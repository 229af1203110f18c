import re

import numpy as np
import pytest

from tests.debrief.made import a_run
from voxlog.debrief.findings import findings_of_run
from voxlog.debrief.profile_figure import LEFT, RIGHT
from voxlog.debrief.sound import BUCKETS, Loudness, Sound
from voxlog.debrief.waveform_figure import Waveforms, waveforms


def figure(sound: Sound) -> Waveforms:
    run = a_run()
    return waveforms(run, sound, findings_of_run(run))


def loud(peak: float) -> Loudness:
    wave = np.full(BUCKETS, peak, np.float32)
    return Loudness(-wave / 2, wave, peak, peak / 2)


def test_a_strip_for_each_channel_one_below_the_other() -> None:
    drawn = figure(Sound({1: loud(0.25)}, ()))
    one, two = drawn.strips
    assert (one.name, one.peak, one.rms) == ("Conductor", "-12.0 dBFS", "-18.1 dBFS")
    assert (one.utterances, one.speech_s) == (5, pytest.approx(6.5))
    assert (two.name, two.path, two.peak) == ("Inside attendant", "", "not here")
    assert one.y < two.y < drawn.bottom < drawn.height


def test_the_outline_reaches_from_edge_to_edge_and_over_the_strip() -> None:
    strip = figure(Sound({1: loud(0.25)}, ())).strips[0]
    places = [tuple(map(float, pair)) for pair in re.findall(r"([\d.]+) ([\d.]+)", strip.path)]
    assert len(places) == 2 * BUCKETS
    across = [x for x, _ in places]
    assert LEFT <= min(across) < LEFT + 1
    assert RIGHT - 1 < max(across) <= RIGHT
    assert {y for _, y in places} == {strip.y - 18, strip.y + 9}


def test_a_silent_channel() -> None:
    strip = figure(Sound({1: loud(0.0)}, ())).strips[0]
    assert (strip.peak, strip.full_scale) == ("silent", "0.00")


def test_findings_are_marked_at_their_time() -> None:
    marks = figure(Sound({}, ())).findings
    assert marks[0].title == "00:06  finding 1"
