"""Moves to exchanges, drawn: ?3 asks step 3, !3 answers it, >3 resumes at it, - is a side act."""

import pytest

from tests.follow.cases import CHECKS, weighed
from voxlog.follow.alignment import Move
from voxlog.follow.evidence import ActEvidence
from voxlog.follow.exchange import PATIENCE, Aside, Exchange, Resumed, exchanges

SIGNS: dict[str, Move] = {"?": "ask", "!": "answer", ">": "resume", "-": "side"}
TALK = weighed(CHECKS)


def grouped(drawn: str, heard: list[ActEvidence] | None = None) -> str:
    """E3(0 1|2)' is an exchange of step 3, asked by utterances 0 and 1, answered by 2.

    A stroke for each resume before it; A4 is utterance 4 as an aside, R4 as a resume.
    """
    signs = drawn.split()
    moves = [(SIGNS[sign[0]], int(sign[1:] or -1)) for sign in signs]
    evidence = heard or [weighed(CHECKS, start=2.0 * n) for n in range(len(signs))]
    return "  ".join(shown(one) for one in exchanges(moves, evidence))


def shown(one: Exchange | Aside | Resumed) -> str:
    if isinstance(one, Exchange):
        asks, answers = (" ".join(map(str, part)) for part in (one.asks, one.answers))
        return f"E{one.step}({asks}|{answers})" + "'" * one.stretch
    return f"{'A' if isinstance(one, Aside) else 'R'}{one.utterance}"


@pytest.mark.parametrize(
    ("drawn", "expected"),
    [
        ("", ""),
        ("?0 !0 ?1 !1", "E0(0|1)  E1(2|3)"),
        # An aside does not end an exchange, and comes in its place.
        ("?0 -0 !0 - ?1", "E0(0|2)  A1  A3  E1(4|)"),
        # Asked twice, answered twice.
        ("?0 ?0 !0 !0", "E0(0 1|2 3)"),
        # Not asked; not answered.
        ("!0 ?1 ?2 !2", "E0(|0)  E1(1|)  E2(2|3)"),
        # Done again after another: a second exchange.
        ("?0 !0 ?1 !1 ?0 !0", "E0(0|1)  E1(2|3)  E0(4|5)"),
        # After a resume too, even of the same step.
        ("?0 !0 >0 ?0 !0", "E0(0|1)  R2  E0(3|4)'"),
        ("?0 >0 >0 !0", "E0(0|)  R1  R2  E0(|3)''"),
        # Two asked, then both answered.
        ("?0 ?1 !0 !1", "E0(0|2)  E1(1|3)"),
        ("?0 ?1 !1 !0", "E0(0|3)  E1(1|2)"),
    ],
)
def test_moves_are_grouped(drawn: str, expected: str) -> None:
    assert grouped(drawn) == expected


def test_an_answer_that_comes_much_later_is_an_exchange_of_its_own() -> None:
    for wait, expected in (
        (PATIENCE - 1, "E0(0|2)  E1(1|)"),
        (PATIENCE + 1, "E0(0|)  E1(1|)  E0(|2)"),
    ):
        heard = [weighed(CHECKS, start=at) for at in (0.0, 2.0, 1.0 + wait)]
        assert grouped("?0 ?1 !0", heard) == expected


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ({"loud_and_clear": 4.0}, "E0(0|3)  E1(1|2)"),
        ({"loud_and_clear": -1.0}, "E0(0|)  E1(1|2)  A3"),
        ({"loud_and_clear": 2.0, "roger": 3.0}, "E0(0|)  E1(1|2)  A3"),
    ],
)
def test_an_aside_that_answers_what_was_left_open(words: dict[str, float], expected: str) -> None:
    heard = [weighed(CHECKS, start=2.0 * n) for n in range(3)]
    heard.append(weighed(CHECKS, start=6.0, **words))
    assert grouped("?0 ?1 !1 -1", heard) == expected


@pytest.mark.parametrize(
    ("start", "words", "expected"),
    [
        (4.0, {"oxygen_supply_pressure": 4.0}, "E0(0|)  E1(1|2)"),
        (4.0, {"oxygen_supply_pressure": -1.0}, "E0(0|)  A1  E1(|2)"),
        (4.0, {"oxygen_supply_pressure": 3.0, "roger": 4.0}, "E0(0|)  A1  E1(|2)"),
        (PATIENCE + 4.0, {"oxygen_supply_pressure": 4.0}, "E0(0|)  A1  E1(|2)"),
    ],
)
def test_an_aside_that_asked_what_is_answered(
    start: float, words: dict[str, float], expected: str
) -> None:
    heard = [weighed(CHECKS), weighed(CHECKS, 2.0, **words), weighed(CHECKS, start)]
    assert grouped("?0 -0 !1", heard) == expected


@pytest.mark.parametrize(
    ("words", "answer", "expected"),
    [
        ({"correction": 4.0}, 2.0, "E1(0|1 3)  A2"),
        ({"correction": 4.0}, -2.0, "E1(0|1)  A2  A3"),
        ({"roger": 4.0}, 2.0, "E1(0|1)  A2  A3"),
    ],
)
def test_what_follows_a_correction_is_an_answer(
    words: dict[str, float], answer: float, expected: str
) -> None:
    heard = [weighed(CHECKS, 0.0), weighed(CHECKS, 2.0), weighed(CHECKS, 4.0, **words)]
    heard.append(weighed(CHECKS, 5.0, two_thousand=answer))
    assert grouped("?1 !1 -1 -1", heard) == expected


@pytest.mark.parametrize(
    ("drawn", "words", "expected"),
    [
        # Left out, and done after the one that follows it; its question was too unclear.
        ("?8 !8 -8 -8", {"tracing_well": 4.0}, "E8(0|1)  A2  E7(|3)"),
        ("?8 !8 -8 -8", {"tracing_well": 2.0}, "E8(0|1)  A2  A3"),
        # Words of any item; more likely a receipt; of a step that is further away; done already.
        ("?8 !8 -8 -8", {"affirm": 6.0}, "E8(0|1)  A2  A3"),
        ("?8 !8 -8 -8", {"tracing_well": 4.0, "roger": 5.0}, "E8(0|1)  A2  A3"),
        ("?9 !9 -9 -9", {"tracing_well": 4.0}, "E9(0|1)  A2  A3"),
        ("!7 ?8 !8 -8", {"tracing_well": 4.0}, "E7(|0)  E8(1|2)  A3"),
    ],
)
def test_a_step_left_out_is_known_by_its_own_answer(
    drawn: str, words: dict[str, float], expected: str
) -> None:
    heard = [weighed(CHECKS, start=2.0 * n) for n in range(3)]
    heard.append(weighed(CHECKS, 6.0, **words))
    assert grouped(drawn, heard) == expected


def test_a_challenge_that_was_taken_back_is_not_answered() -> None:
    heard = [
        weighed(CHECKS, 0.0, oxygen_supply_pressure=4.0),
        weighed(CHECKS, 2.0, disregard=4.0),
        weighed(CHECKS, 4.0),
    ]
    assert grouped("- - !1", heard) == "A0  A1  E1(|2)"


@pytest.mark.parametrize(
    ("drawn", "evidence", "expected"),
    [
        # A challenge taken back is an aside; the next one is a new exchange.
        ("?3 -3 ?0 !0", 4.0, "A0  A1  E0(2|3)"),
        # What was answered stays.
        ("?3 !3 -3 ?0", 4.0, "E3(0|1)  A2  E0(3|)"),
        # More likely talk than "disregard".
        ("?3 -3 ?0 !0", -1.0, "E3(0|)  A1  E0(2|3)"),
    ],
)
def test_disregard(drawn: str, evidence: float, expected: str) -> None:
    heard = [
        weighed(CHECKS, start=2.0 * n, **({"disregard": evidence} if "-" in sign else {}))
        for n, sign in enumerate(drawn.split())
    ]
    assert grouped(drawn, heard) == expected


def test_the_first_utterance_of_an_exchange() -> None:
    assert Exchange(0, (4,), (2,), 0).first == 2
    assert Exchange(0, (), (2,), 0).first == 2
