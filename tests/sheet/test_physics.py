"""Rates, gas, decompressions, departures, who is inside: read, refused, printed, never spoken."""

import pytest

from voxlog.sheet.check import warnings
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Cue, Decompression, Item, Rate
from voxlog.sheet.phrases import sheet_phrases
from voxlog.sheet.problem import SheetError
from voxlog.sheet.show import show

CUE = "{cue: masks-off,"
RUN = "    title: Run\n"
COLOUR = "{item: 6,"
DROP = "{to: 22000, volume-m3: 30, orifice-m2: 0.25}"


def physical(small_sheet: str) -> str:
    return (
        small_sheet.replace(CUE, f"{{cue: masks-off, gas: air, decompression: {DROP},")
        .replace(RUN, f"{RUN}    rate: {{min: 2000, max: 5000}}\n")
        .replace(COLOUR, "{item: 6, gas: oxygen, departs: true,")
    )


def test_rates_gas_and_decompressions_are_read(small_sheet: str) -> None:
    sheet = read_sheet(physical(small_sheet))
    cue = next(step for _, step in sheet.steps if isinstance(step, Cue))
    assert sheet.phase("run").rate == Rate(min=2000, max=5000)
    assert cue.gas == "air"
    assert cue.decompression == Decompression(to=22_000, volume_m3=30, orifice_m2=0.25)
    assert isinstance(sheet.item(6), Item)
    assert sheet.item(6).gas == "oxygen"
    assert (sheet.item(6).departs, cue.departs) == (True, False)


def test_they_make_nothing_sayable(small_sheet: str) -> None:
    assert sheet_phrases(read_sheet(physical(small_sheet))) == sheet_phrases(
        read_sheet(small_sheet)
    )


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (RUN, f"{RUN}    rate: {{}}\n", "a rate needs `min`, `max` or both; add one"),
        (RUN, f"{RUN}    rate: {{min: 9, max: 2}}\n", "min 9 is above max 2; exchange them"),
        (RUN, f"{RUN}    rate: {{mix: 9}}\n", "unknown key `mix`; known here: min, max"),
        (RUN, f"{RUN}    rate: {{max: -4}}\n", "should be greater than or equal to 0.001"),
        (CUE, f"{CUE} gas: nitrox,", "`gas` should be one of air, oxygen; write what is breathed"),
        (CUE, f"{CUE} departs: 1,", "`departs` should be true or false"),
        (CUE, f"{CUE} decompression: {{}},", "`to` is missing; add it here"),
        (
            CUE,
            f"{CUE} decompression: {{to: 22000, volume-m3: 30}},",
            "`volume-m3` and `orifice-m2` only mean something together; give both",
        ),
        (
            CUE,
            f"{CUE} decompression: {{to: 22000, volume: 30}},",
            "unknown key `volume`; did you mean `volume-m3`?",
        ),
        (
            CUE,
            f"{CUE} decompression: {{to: 22000, volume-m3: 30, orifice-m2: 0}},",
            "should be greater than 0",
        ),
        (
            CUE,
            f"{CUE} decompression: 22000,",
            "`decompression` should be `key: value` pairs",
        ),
    ],
)
def test_what_is_wrong_is_said(small_sheet: str, old: str, new: str, message: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_sheet(small_sheet.replace(old, new))
    assert message in str(caught.value)


def test_they_are_printed(small_sheet: str) -> None:
    printed = show(read_sheet(physical(small_sheet)))
    assert "Run\n---\nRate of change: 2,000 to 5,000 a minute.\n" in printed
    assert "(on air," in printed
    assert "decompression to 22,000)" in " ".join(printed.split())
    assert "(within 4 s, on oxygen, departure)" in " ".join(printed.split())


@pytest.mark.parametrize(
    ("rate", "words"), [("{min: 500}", "500 or more"), ("{max: 1.5}", "1.5 or less")]
)
def test_a_rate_may_have_one_end(small_sheet: str, rate: str, words: str) -> None:
    printed = show(read_sheet(small_sheet.replace(RUN, f"{RUN}    rate: {rate}\n")))
    assert f"Rate of change: {words} a minute." in printed


def test_who_is_inside_is_read_and_printed_and_must_be_a_position(small_sheet: str) -> None:
    text = small_sheet.replace("asks: conductor\n", "asks: conductor\ninside: [attendant]\n")
    sheet = read_sheet(text)
    assert sheet.inside == ("attendant",)
    assert "attendant    Attendant, inside the chamber\n" in show(sheet)
    assert "operator     Operator\n" in show(sheet)
    with pytest.raises(SheetError) as caught:
        read_sheet(text.replace("[attendant]", "[attendent]"))
    assert "no position `attendent`; did you mean `attendant`?" in str(caught.value)


def test_a_decompression_to_a_level_that_nobody_calls_is_warned_of(small_sheet: str) -> None:
    missing = warnings(read_sheet(small_sheet.replace(CUE, f"{CUE} decompression: {DROP},")))
    assert [problem.message for problem in missing] == [
        "no callout is due at 22000, so its time will not be known; add one"
    ]
    called = DROP.replace("22000", "15000")
    assert not warnings(read_sheet(small_sheet.replace(CUE, f"{CUE} decompression: {called},")))
