import pytest

from voxlog.debrief.certainty import certainty_of
from voxlog.follow.event import Event


def rows(*ps: float, **more: object) -> list[Event]:
    return [Event(n, n, "reading", p=p, **more) for n, p in enumerate(ps)]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("p", "place"),
    [(1.0, 0), (0.99, 0), (0.989, 1), (0.97, 1), (0.9, 2), (0.7, 3), (0.5, 4), (0.499, 5), (0, 5)],
)
def test_bins_have_their_lower_edge(p: float, place: int) -> None:
    bins = certainty_of(rows(p)).bins
    assert [one.rows for one in bins] == [int(n == place) for n in range(6)]
    assert bins[place].low <= p <= bins[place].high


def test_what_the_probabilities_add_up_to() -> None:
    note = Event(9, 9, "note", p=0.1)
    found = certainty_of([*rows(0.5, 0.75), *rows(1.0, flags=("uncertain",)), note])
    assert (found.rows, found.notes, found.uncertain) == (3, 1, 1)
    assert found.expected_wrong == pytest.approx(0.75)
    assert sum(one.flagged for one in found.bins) == 1


def test_the_least_sure_rows_without_a_finding_come_lowest_first() -> None:
    events = [*rows(0.9, 0.97, 0.6), *rows(0.2, flags=("off-limit",)), Event(5, 5, "note", p=0)]
    assert certainty_of(events).least_sure == (3, 1)
    assert len(certainty_of(rows(*[0.5] * 50)).least_sure) == 8
