import pytest

from tests.debrief.made import EVENTS, a_run
from voxlog.debrief.wording import name_of, probability, utc_of, wanted_of
from voxlog.follow.event import Event

SHEET = a_run().sheet


@pytest.mark.parametrize(
    ("row", "name", "wanted"),
    [
        (1, "item 1 intercom check", "“loud and clear”, by Inside attendant, within 8\u00a0s"),
        (2, "item 2 supply pressure", "1,600 to 2,200 psi, by Chamber operator, within 8\u00a0s"),
        (3, "item 3 spare mask", "“in reach”, by Inside attendant, within 4\u00a0s"),
        (5, "climb 10,000 ft", "10,000 ft, read back by Conductor within 6\u00a0s"),
        (6, "hold", ""),
        (10, "cue masks-off", "“masks off on my mark three two one now”"),
        (11, "saturation 81 %", "70 to 100 %"),
        (13, "time-off 30 s", "every 30 s after masks-off, within 3 s of it"),
    ],
)
def test_what_a_row_is_called_and_what_was_wanted(row: int, name: str, wanted: str) -> None:
    assert name_of(SHEET, EVENTS[row - 1]) == name
    assert wanted_of(SHEET, EVENTS[row - 1]) == wanted


@pytest.mark.parametrize("kind", ["item", "callout", "reading", "cue"])
def test_a_row_of_something_that_the_sheet_does_not_have(kind: str) -> None:
    event = Event(1, 1, kind, "gone", "99")  # type: ignore[arg-type]
    assert "99" in name_of(SHEET, event)
    assert wanted_of(SHEET, event) == ""


@pytest.mark.parametrize(
    ("p", "text"), [(1.0, ">99 %"), (0.999, ">99 %"), (0.98, "98 %"), (0.0, "0 %"), (0.001, "<1 %")]
)
def test_nothing_is_certain(p: float, text: str) -> None:
    assert probability(p) == text


def test_the_time_of_day_is_cut_to_the_second_and_allows_for_drift() -> None:
    run = a_run()
    assert utc_of(run, 65.9) == "09:31:05"
    assert utc_of(a_run(start=None), 65.9) == ""
