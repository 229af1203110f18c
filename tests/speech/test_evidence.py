"""Evidence rises with what speaks for a phrase and falls with what speaks for other words."""

from typing import Any

import pytest

from voxlog.speech.evidence import Marks, evidence_of

FAIR = Marks(phrase=10.0, pace=-1.0, alike=0.5, chance=-2.0, further=1, numbers=1, answered=0)


@pytest.mark.parametrize(
    ("better", "by"),
    [
        ({"phrase": 12.0}, "a phrase that fits the sound better"),
        ({"pace": -0.1}, "a duration that is usual for the words"),
        ({"alike": 0.9}, "free text that is more like the phrase"),
        ({"chance": -0.5}, "a slot with fewer values"),
        ({"further": 0}, "fewer phrases in one breath"),
        ({"numbers": 0}, "no two numbers in a row"),
        ({"answered": 1}, "a challenge and its own answer"),
    ],
)
def test_evidence_rises(better: dict[str, Any], by: str) -> None:
    assert evidence_of(FAIR._replace(**better)) > evidence_of(FAIR), by


def test_clear_speech_is_evidence_and_clear_talk_is_evidence_against() -> None:
    """Sizes as they are measured on clear phrases, and on talk that the sheet does not list."""
    said = evidence_of(Marks(phrase=12.0, pace=-0.3, alike=1.0))
    talk = evidence_of(Marks(phrase=-8.0, pace=-3.0, alike=0.3))
    assert said > 2
    assert talk < -2
