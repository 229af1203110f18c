"""Evidence rises with what speaks for a phrase and falls with what speaks for other words."""

import pytest

from voxlog.speech.evidence import evidence_of

FAIR = {"phrase": 10.0, "free": 10.0, "pace": -1.0, "alike": 0.5, "chance": -2.0}


@pytest.mark.parametrize(
    ("better", "by"),
    [
        ({"phrase": 12.0}, "a phrase that fits the sound better"),
        ({"free": 8.0}, "free text that fits it worse"),
        ({"pace": -0.1}, "a duration that is usual for the words"),
        ({"alike": 0.9}, "free text that is more like the phrase"),
        ({"chance": -0.5}, "a slot with fewer values"),
    ],
)
def test_evidence_rises(better: dict[str, float], by: str) -> None:
    assert evidence_of(**{**FAIR, **better}) > evidence_of(**FAIR), by


def test_clear_speech_is_evidence_and_clear_talk_is_evidence_against() -> None:
    """Sizes as they are measured on clear phrases, and on talk that the sheet does not list."""
    said = evidence_of(phrase=12.0, free=12.0, pace=-0.3, alike=1.0, chance=0.0)
    talk = evidence_of(phrase=-8.0, free=15.0, pace=-3.0, alike=0.3, chance=0.0)
    assert said > 2
    assert talk < -2
