"""How long words take."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.speech.pace import pace_evidence, seconds_to_say

TEXTS = st.text("abcdefghij ", min_size=1, max_size=60)


@pytest.mark.parametrize(
    ("shorter", "longer"), [("on", "off"), ("roger", "say again"), ("ready", "not ready")]
)
def test_more_letters_take_longer(shorter: str, longer: str) -> None:
    assert 0 < seconds_to_say(shorter) < seconds_to_say(longer) < 2


@given(TEXTS)
def test_the_usual_duration_is_the_likeliest(text: str) -> None:
    usual = seconds_to_say(text)
    assert pace_evidence(text, usual) == pytest.approx(0)
    for wrong in (0.5, 0.8, 1.25, 2.0):
        assert pace_evidence(text, wrong * usual) < 0


@given(TEXTS, st.floats(0, 60))
def test_no_duration_is_impossible(text: str, seconds: float) -> None:
    assert -20 < pace_evidence(text, seconds) <= 0


@given(TEXTS, st.floats(1.0, 3.0))
def test_twice_as_long_is_as_odd_as_half_as_long(text: str, times: float) -> None:
    usual = seconds_to_say(text)
    if usual / times > 0.1:
        longer, shorter = (pace_evidence(text, usual * t) for t in (times, 1 / times))
        assert longer == pytest.approx(shorter, abs=1e-6)
