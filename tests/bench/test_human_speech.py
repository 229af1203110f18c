"""Real human voices: the right one of 58 phrases is chosen, and what is no phrase is refused."""

import pytest

from tests.bench.human_speech import CLIPS, Clip, best_heard, listen, new_recogniser
from tests.bench.runs import CACHE
from voxlog.speech.recognise import Recogniser
from voxlog.speech.utterance import Heard

pytestmark = pytest.mark.slow

ONE_PHRASE = [each for each in CLIPS if len(each.phrases) == 1]
NO_PHRASE = [each for each in CLIPS if not each.phrases]


def clip_name(each: Clip) -> str:
    return each.name


@pytest.fixture(scope="module")
def recogniser() -> Recogniser:
    return new_recogniser(CACHE)


def heard_in(recogniser: Recogniser, name: str) -> list[Heard]:
    return best_heard(one for parts in listen(recogniser, name) for one in parts)


@pytest.mark.parametrize("each", ONE_PHRASE, ids=clip_name)
def test_the_phrase_that_is_said_has_the_most_evidence(recogniser: Recogniser, each: Clip) -> None:
    heard = heard_in(recogniser, each.name)
    most = max(one.evidence for one in heard)
    assert [one.sayable.text for one in heard if one.evidence == most] == list(each.phrases)


@pytest.mark.parametrize("each", NO_PHRASE, ids=clip_name)
def test_what_is_no_phrase_is_not_accepted(recogniser: Recogniser, each: Clip) -> None:
    heard = heard_in(recogniser, each.name)
    assert max((one.evidence for one in heard), default=0.0) <= 0
