"""Which position's words come in on which channel."""

import pytest

from tests.live.small import listed, said
from voxlog.live.patch import said_by
from voxlog.speech.utterance import Utterance

POSITIONS = {0: "conductor", 1: "attendant", 2: "operator"}


@pytest.mark.parametrize(
    ("utterances", "expected"),
    [
        ([], []),
        ([said(1, "intercom check", 9.0)], [(0, "conductor")]),
        # The attendant's line has the operator's words.
        ([said(1, "hatch shut", 9.0, channel=1)], [(1, "operator")]),
        # Newest first; talk and what is unsure or anyone's does not count.
        (
            [
                said(1, "intercom check", 9.0, channel=1),
                said(3, "loud and clear", 9.0, channel=0),
                said(5, "door shut", 1.0, channel=0),
                said(7, "affirm", 9.0, channel=1),
                Utterance(1, 9, 10, ((9, 10),), "lunch", ()),
            ],
            [(0, "attendant"), (1, "conductor")],
        ),
        # A channel that nobody is mapped to.
        ([said(1, "intercom check", 9.0, channel=3)], []),
    ],
)
def test_who_speaks_where(utterances: list[Utterance], expected: list[tuple[int, str]]) -> None:
    assert said_by(utterances, listed().phrases, POSITIONS) == expected


def test_only_the_latest_are_gone_by() -> None:
    """Twelve of before the patch was put right are outweighed by twelve."""
    before = [said(n, "hatch shut", 9.0, channel=1) for n in range(30)]
    after = [said(50 + n, "door shut", 9.0, channel=1) for n in range(12)]
    found = said_by([*before, *after], listed().phrases, POSITIONS)
    assert found == [(1, "attendant")] * 12
