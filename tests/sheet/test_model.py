"""The sheet as the follower and the recogniser read it."""

import pytest

from voxlog.sheet.load import read_sheet
from voxlog.sheet.marks import Mark
from voxlog.sheet.model import Sheet, Words


@pytest.fixture
def sheet(small_sheet: str) -> Sheet:
    return read_sheet(small_sheet)


def test_steps_come_in_order_with_their_phase(sheet: Sheet) -> None:
    assert [(phase.id, step.key) for phase, step in sheet.steps] == [
        ("ground", "1"),
        ("ground", "2"),
        ("ground", "4"),
        ("ground", "5"),
        ("run", "masks-off"),
        ("run", "6"),
    ]


def test_items_are_found_by_number(sheet: Sheet) -> None:
    assert sheet.item(4).ask == ("inner door",)
    with pytest.raises(KeyError):
        sheet.item(3)


@pytest.mark.parametrize(
    ("phase", "readings"), [("ground", ["pulse"]), ("run", ["pulse", "saturation"])]
)
def test_a_phase_has_the_readings_of_the_sheet_and_its_own(
    sheet: Sheet, phase: str, readings: list[str]
) -> None:
    assert [reading.id for reading in sheet.readings_in(phase)] == readings


def test_an_unknown_phase_is_a_key_error(sheet: Sheet) -> None:
    with pytest.raises(KeyError):
        sheet.readings_in("nowhere")


@pytest.mark.parametrize(("number", "seconds"), [(1, 8), (6, 4)])
def test_an_item_may_have_its_own_time_to_answer(sheet: Sheet, number: int, seconds: float) -> None:
    assert sheet.seconds_to_answer(sheet.item(number)) == seconds


def test_words_of_a_sheet_are_added_to_the_published_ones() -> None:
    words = Words.model_validate({"receipt": ["copy that", "roger"]})
    assert words.receipt == ("roger", "copied", "wilco", "copy that")
    # ICAO Doc 9432, 2.6: ROGER is never an answer to a question that needs AFFIRM or NEGATIVE.
    assert not set(words.receipt) & set(words.affirm)


def test_a_sheet_written_out_is_a_sheet_again(sheet: Sheet) -> None:
    written = sheet.model_dump(by_alias=True)
    assert Sheet.model_validate(written).model_dump() == sheet.model_dump()


def test_a_sheet_from_no_file_has_no_places(sheet: Sheet) -> None:
    fresh = Sheet.model_validate(sheet.model_dump(by_alias=True))
    assert (fresh.file, fresh.mark_of(("phases", 0))) == ("", Mark(0, 0))
