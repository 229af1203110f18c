"""What matters most and is least certain comes first."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.event import FLAGS, STATUSES, Event, Flag, Status
from voxlog.log.finding import findings_of
from voxlog.report.words import severity
from voxlog.review_page.queue import review_order


def row(
    status: Status = "confirmed", *flags: Flag, p: float = 1.0, start: float = 0, item: str = "1"
) -> Event:
    return Event(start, start, "item", item=item, status=status, flags=flags, p=p)


@pytest.mark.parametrize(
    ("rows", "order"),
    [
        # what matters most, whatever is sure
        ([row("skipped", p=0.1), row("negative", p=1.0)], [2, 1]),
        ([row("confirmed", "late", p=0.1), row("unconfirmed", p=0.9)], [2, 1]),
        ([row("confirmed", "uncertain", p=0.1), row("confirmed", "late")], [2, 1]),
        # negative, misread and off-limit are worth the same
        ([row("negative", p=0.9), row("confirmed", "off-limit", p=0.8)], [2, 1]),
        # by the worst finding of a row
        ([row("skipped"), row("confirmed", "off-limit", "late")], [2, 1]),
        # among equals the least certain, then the first
        ([row("negative", p=0.9), row("negative", p=0.5)], [2, 1]),
        ([row("negative", start=9), row("negative", start=2)], [2, 1]),
        ([row("negative"), row("negative")], [1, 2]),
        # what may be left out is worth less than what was done otherwise than written
        ([row("skipped", item="5", p=0.1), row("confirmed", "late")], [2, 1]),
        # no findings
        ([row(), row("confirmed", "repeated"), Event(0, 1, "note", flags=("uncertain",))], []),
        ([], []),
    ],
)
def test_the_order(rows: list[Event], order: list[int]) -> None:
    assert list(review_order(enumerate(rows, 1), optional={"5"})) == order


EVENTS = st.builds(
    row,
    st.sampled_from(STATUSES),
    st.sampled_from(FLAGS),
    p=st.sampled_from([0.0, 0.25, 0.5, 1.0]),
    start=st.integers(0, 5).map(float),
)


@given(st.lists(EVENTS, max_size=12), st.randoms(use_true_random=False))
def test_all_findings_once_never_less_grave_first_and_whatever_the_order_of_the_log(
    events: list[Event], random: object
) -> None:
    numbered = list(enumerate(events, 1))
    order = review_order(numbered)
    assert sorted(order) == [n for n, event in numbered if findings_of(event)]
    for one, other in pairwise(events[n - 1] for n in order):
        worst, next_worst = severity(one), severity(other)
        assert worst is not None
        assert next_worst is not None
        assert (worst.order, one.p) <= (next_worst.order, other.p)
    random.shuffle(numbered)  # type: ignore[attr-defined]
    assert review_order(numbered) == order
