import pytest

from tests.review_page.made_up import EVENTS, SHEET
from voxlog.follow.event import Event, Kind
from voxlog.review_page.names import part_of, phase_title, position_title, row_name


@pytest.mark.parametrize(
    ("event", "name"),
    [
        (EVENTS[0], "1 intercom check"),
        (EVENTS[5], "climb 5,000 ft"),
        (EVENTS[4], "note"),
        (Event(0, 1, "item", item="77"), "item 77"),
        (Event(0, 1, "cue", item="masks-off"), "masks-off"),
        (Event(0, 1, "reading", item="saturation", value=88.0, unit="%"), "saturation 88 %"),
        (Event(0, 1, "hold"), "hold"),
    ],
)
def test_a_row_is_called_as_crews_call_it(event: Event, name: str) -> None:
    assert row_name(SHEET, event) == name


@pytest.mark.parametrize(
    ("kind", "item", "found"),
    [
        ("item", "3", "Item"),
        ("cue", "masks-off", "Cue"),
        ("callout", "climb", "Callout"),
        ("callout", "time-off", "Elapsed"),
        ("reading", "saturation", "Reading"),
        ("reading", "climb", "NoneType"),
        ("item", "masks-off", "NoneType"),
        ("note", "", "NoneType"),
    ],
)
def test_the_part_of_the_sheet_behind_a_row(kind: Kind, item: str, found: str) -> None:
    assert type(part_of(SHEET, kind, item, "climb")).__name__ == found


def test_titles_fall_back_on_the_id() -> None:
    assert phase_title(SHEET, "ground") == "Ground checks"
    assert phase_title(SHEET, "gone") == "gone"
    assert position_title(SHEET, "attendant") == "Inside attendant"
    assert position_title(SHEET, "") == ""
