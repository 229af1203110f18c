import json
import math

import pytest

from tests.review_page.made_up import UTTERANCES
from voxlog.errors import InputError
from voxlog.review_page.lines import read_lines


def test_lines_are_in_order_and_share_the_sound_with_none_of_these() -> None:
    text = "".join(f"{json.dumps(one)}\n" for one in reversed(UTTERANCES))
    first, second = read_lines(text, "utterances.jsonl")
    assert (first.start, first.end, first.text, first.alternatives) == (
        3.0,
        3.5,
        "supply pressure",
        (),
    )
    whole = 1 + math.exp(2) + math.exp(3)
    assert [one.text for one in second.alternatives] == [
        "one thousand",
        "one thousand five hundred",
    ]
    assert second.alternatives[0].what == "value of 2"
    shares = [one.share for one in second.alternatives]
    assert shares == pytest.approx([math.exp(3) / whole, math.exp(2) / whole])


def test_an_answer_that_was_surmised_is_no_line_of_its_own() -> None:
    surmised = {**UTTERANCES[0], "surmised": True}
    text = "".join(f"{json.dumps(one)}\n" for one in (*UTTERANCES, surmised))
    assert len(read_lines(text, "utterances.jsonl")) == len(UTTERANCES)


def test_evidence_of_any_size_is_a_share() -> None:
    heard = [
        {"text": f"a{nats}", "act": "confirm", "step": "1", "evidence_millinats": nats * 1000}
        for nats in (900, 899, -900)
    ]
    line = {"channel": 1, "start_ms": 0, "end_ms": 1, "text": "", "heard": heard}
    (found,) = read_lines(json.dumps(line), "x")
    assert [round(one.share, 3) for one in found.alternatives] == [0.731, 0.269]


@pytest.mark.parametrize(
    "line",
    [
        "{",
        "[]",
        "{}",
        '{"channel": 1, "start_ms": "x", "end_ms": 2, "text": "", "heard": []}',
        "[" * 99999,
    ],
)
def test_what_is_no_utterance_is_named(line: str) -> None:
    with pytest.raises(InputError, match=r"^u\.jsonl line 1: not an utterance; run voxlog verify"):
        read_lines(line, "u.jsonl")
