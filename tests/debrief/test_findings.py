from dataclasses import replace

import pytest

from tests.debrief.made import EVENTS, a_run, decided
from voxlog.debrief.findings import findings_of_run, rulings_of


def test_the_gravest_come_first_and_keep_their_numbers() -> None:
    found = findings_of_run(a_run())
    assert [(one.number, one.n, one.weight, one.mark) for one in found] == [
        (1, 2, "grave", "!!"),
        (2, 12, "grave", "!!"),
        (3, 5, "grave", "!!"),
        (4, 14, "grave", "!!"),
        (5, 3, "order", "-"),
    ]
    after = findings_of_run(a_run(decisions=[decided(2, "cleared", "misheard")]))
    assert [one.n for one in after] == [one.n for one in found]


def test_a_value_is_said_once() -> None:
    found = {one.n: f"{one.name}: {one.words}" for one in findings_of_run(a_run())}
    assert found[2] == "item 2 supply pressure: outside limits: 1,500 psi"
    assert found[12] == "saturation 65 %: outside limits"
    assert found[3] == "item 3 spare mask: optional, not heard"


@pytest.mark.parametrize(
    ("decisions", "state", "words"),
    [
        ([], "open", []),
        ([decided(2, "stands")], "agreed", ["stands"]),
        ([decided(2, "deferred", "ask")], "deferred", ["deferred"]),
        (
            [decided(2, "stands"), decided(2, "cleared", "a cough", reviewer="C-03")],
            "disputed",
            ["stands", "cleared, misheard"],
        ),
        (
            [decided(2, "corrected", "1800", event=replace(EVENTS[1], value=1800.0, flags=()))],
            "agreed",
            ["corrected: item 2 supply pressure, 1,800 psi, confirmed, at 00:06"],
        ),
    ],
)
def test_what_reviewers_decided(decisions: list, state: str, words: list[str]) -> None:
    finding = findings_of_run(a_run(decisions=decisions))[0]
    assert (finding.n, finding.state) == (2, state)
    assert [ruling.verdict for ruling in finding.rulings] == words
    assert finding.is_decided == (state == "agreed")


def test_a_ruling_has_its_reviewer_reason_and_moment() -> None:
    run = a_run(decisions=[decided(2, "cleared", "a <cough>")])
    (ruling,) = rulings_of(run, run.outcomes[1])
    assert (ruling.reviewer, ruling.reason, ruling.at) == (
        "C-12",
        "a <cough>",
        "2026-11-25 09:30 UTC",
    )
