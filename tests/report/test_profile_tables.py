import io
import json

import pytest
from rich.console import Console

from tests.profile.rows import call, done
from tests.profile.simulated import sheet, simulate
from tests.profile.test_physiology import DROP, ROWS
from voxlog.follow.event import Event
from voxlog.profile.estimate import altitude_profile
from voxlog.profile.physiology import physiology
from voxlog.report.profile_json import PROFILE_VERSION, profile_json
from voxlog.report.profile_tables import print_profile
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Sheet


def printed(sheet_: Sheet, events: list[Event], width: int = 100) -> str:
    console = Console(file=io.StringIO(), width=width, highlight=False)
    profile = altitude_profile(sheet_, events)
    print_profile(console, profile, physiology(sheet_, events, profile))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def as_json(sheet_: Sheet, events: list[Event]) -> dict[str, object]:
    profile = altitude_profile(sheet_, events)
    # NaN and infinity are no JSON.
    text = json.dumps(profile_json(profile, physiology(sheet_, events, profile)), allow_nan=False)
    return dict(json.loads(text))


def test_a_decompression_run_is_printed_whole() -> None:
    lines = [" ".join(line.split()) for line in printed(read_sheet(DROP), ROWS).split("\n")]
    for line in (
        "Levels that were kept",
        "22,000 ft 06:44 07:43 00:59 00:59 to 01:03",
        "8,000 ft 752.62 564.5 10.92 0.74 108 61 518 478",
        "22,000 ft 427.91 321.0 6.21 0.42 57 - 274 234",
        "drop-now 06:40 8,000 ft 22,000 ft 4.0 s 0.52 s",
        "oxygen before leaving 00:03 00:40 00:37 00:00 to 01:07",
        "on air 06:40 07:43 01:03",
    ):
        assert line in lines, line


@pytest.mark.parametrize("width", [60, 80, 120])
def test_cautions_stand_beside_the_figures_and_nothing_is_cut(width: int) -> None:
    text = printed(read_sheet(DROP), ROWS, width)
    profile = altitude_profile(read_sheet(DROP), ROWS)
    for caution in physiology(read_sheet(DROP), ROWS, profile).cautions:
        assert caution in " ".join(text.split())
    assert "…" not in text or width < 80
    assert max(map(len, text.split("\n"))) <= width


def test_rates_are_set_against_the_sheet() -> None:
    rows = [call(100, 10_000, "up", "climb"), call(200, 15_000, "up", "climb")]
    lines = [" ".join(line.split()) for line in printed(sheet(), rows).split("\n")]
    assert "01:40 10,000 15,000 3,000 2,900 to 3,100 2,000 to 5,000 within" in lines


def test_nothing_known_is_said_and_not_a_row_of_dashes() -> None:
    text = printed(sheet(), [])
    assert text == "No level was called or kept in this log, so there is no profile.\n"


def test_a_call_that_was_left_out_is_named() -> None:
    rows = [
        *done((0, "ground", "1"), (60, "ground", "2")),
        call(120, 3000, "up-low", "low", "uncertain"),
    ]
    text = printed(sheet(), rows)
    assert "Calls that were left out" in text
    assert "02:00  3,000 ft  voxlog is not sure of its value" in text


def test_json_has_the_same_and_only_json_values() -> None:
    found = as_json(read_sheet(DROP), ROWS)
    assert (found["format"], found["version"]) == ("voxlog-profile", PROFILE_VERSION)
    assert found["decompressions"] == [
        {
            "cue": "drop-now",
            "t": 400,
            "from": 8000.0,
            "to": 22_000,
            "called_after": 4,
            "ideal": pytest.approx(0.52, abs=0.01),
            "published": [
                {
                    "altitude_ft": 22_000,
                    "seconds": [300, 300],
                    "after_decompression": True,
                    "source": "FAA AC 61-107B, table 1-1, as reprinted in a training manual",
                }
            ],
        }
    ]
    assert found["levels"][1]["mmhg"] == 564.51
    assert found["cautions"]


@pytest.mark.parametrize("events", [[], simulate(5).events])
def test_any_log_is_json(events: list[Event]) -> None:
    assert as_json(sheet(), events)["unit"] == "ft"
