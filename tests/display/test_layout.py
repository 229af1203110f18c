import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import ROOT
from tests.display.usual import usual
from voxlog.display.layout import layout
from voxlog.display.letters import draw
from voxlog.live.state import (
    ChannelState,
    DueItem,
    LastCue,
    LastValue,
    LevelTime,
    OpenItem,
    Row,
    RunState,
)
from voxlog.sheet.load import load_sheet


def screen(state: RunState, width: int, height: int, *, is_ascii: bool = False) -> list[str]:
    return [line.plain.rstrip() for line in layout(state, width, height, is_ascii=is_ascii)]


def stands(text: str, scale: int, lines: list[str], font: str = "letters") -> bool:
    """Whether a line of large type stands on the screen, at the left edge or in a column."""
    rows = [row.rstrip() for row in draw(text, scale, font)]  # type: ignore[arg-type]
    return any(
        all(row in line for row, line in zip(rows, lines[start:], strict=False))
        for start in range(len(lines) - len(rows) + 1)
    )


def test_at_80_by_24_the_item_and_its_answerer_are_large() -> None:
    lines = screen(usual(), 80, 24)
    assert len(lines) == 24
    assert " ".join(lines[0].split()) == (
        "● RECORDING Hypoxia recognition, 25,000 ft 3 findings behind by 0 s"
    )
    assert lines[1] == " DUE NOW   asked 4 s ago  Ground checks"
    for text in ("14 operator", "oxygen supply", "pressure"):
        assert stands(text, 1, lines), text
    for figure in ("42:15", "2:05", "25000", "12:30"):
        assert stands(figure, 1, lines, "figures"), figure
    assert "! OPEN 2: 12 visor (skipped); 13 hoses connected (negative)" in lines
    assert lines[-2:] == [
        "conductor  █████░░░  -23 dB ok          attendant  ████░░░░  -31 dB ok",
        "operator   ░░░░░░░░  -60 dB !! silent   monitor    ████████    0 dB !! clipping",
    ]


def test_at_160_by_50_it_is_twice_as_large() -> None:
    lines = screen(usual(), 160, 50)
    assert len(lines) == 50
    for text in ("14 operator", "oxygen supply", "pressure"):
        assert stands(text, 2, lines), text
    for figure in ("42:15", "25000"):
        assert stands(figure, 2, lines, "figures"), figure
    assert "  12 visor (skipped)" in lines
    assert "  13 hoses connected (negative)" in lines


@pytest.mark.parametrize(("size", "scale"), [((80, 24), 1), ((160, 50), 2)])
def test_a_gate_stands_on_top(size: tuple[int, int], scale: int) -> None:
    lines = screen(usual(gate="open: item 12, visor"), *size)
    assert lines[1] == " !! GATE: close this first"
    assert stands("open: item 12,", scale, lines)
    assert stands("visor", scale, lines)
    assert stands("14 operator", scale, lines)
    assert len(lines) == size[1]


def test_with_a_gate_on_a_small_screen_the_words_are_small() -> None:
    assert "OXYGEN SUPPLY PRESSURE" in screen(usual(gate="open: item 12, visor"), 80, 24)


def test_a_gate_too_long_for_large_type_leaves_what_is_due_large() -> None:
    message = "open: item 1, intercom check, and 7 more"
    lines = screen(usual(gate=message), 80, 24)
    assert message.upper() in lines
    assert stands("14 operator", 1, lines)


@pytest.mark.parametrize(
    "warning", ["no sound at all; check its line", "seems swapped with channel 3; check the patch"]
)
def test_a_channels_warning_is_whole(warning: str) -> None:
    channels = (ChannelState("conductor", -23.0), ChannelState("attendant", -60.0, warning))
    lines = screen(usual(channels=channels), 80, 24)
    assert lines[-1].endswith(f"!! {warning}")
    assert lines[-2].endswith("-23 dB ok")


@pytest.mark.parametrize("size", [(80, 24), (160, 50), (40, 12)])
def test_without_block_signs_everything_is_said_in_ascii(size: tuple[int, int]) -> None:
    lines = screen(usual(gate="open: item 12, visor"), *size, is_ascii=True)
    assert "".join(lines).isascii()
    assert "14 OPERATOR" in lines
    assert "OPEN: ITEM 12, VISOR" in lines


def test_a_word_too_long_for_large_type_is_small() -> None:
    words = "decompression-sickness-questionnaire"
    lines = screen(usual(due=DueItem("7", words, "monitor")), 80, 24)
    assert words.upper() in lines
    assert stands("7 monitor", 1, lines)


def test_nothing_due() -> None:
    assert stands("nothing due", 1, screen(usual(due=None), 80, 24))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"recording": False, "fault": "disk full"}, "■ NOT RECORDING: disk full"),
        ({"behind_s": 7.6}, "! behind by 8 s"),
        ({"findings": 1}, "1 finding "),
        ({"answer": "saturation 91 percent"}, "> saturation 91 percent"),
        ({"open": ()}, "open: none"),
        ({"at_level": LevelTime(1861.0, 1800.0)}, "!! OVER BY 1:01"),
        ({"channels": (ChannelState("monitor", -20.0, "same as operator"),)}, "!! same as operat"),
        ({"rows": (Row(9, 61.0, "x", "withdrawn"),)}, "  01:01     9  withdrawn: x"),
    ],
)
def test_what_must_be_said_in_words(changes: dict[str, Any], words: str) -> None:
    assert words in "\n".join(screen(usual(**changes), 80, 24))


def test_many_open_items_are_counted() -> None:
    many = tuple(OpenItem(str(n), "hoses connected", "skipped") for n in range(1, 30))
    line = next(line for line in screen(usual(open=many), 80, 24) if "OPEN" in line)
    assert line == (
        "! OPEN 29: 1 hoses connected (skipped); 2 hoses connected (skipped); and 27 more"
    )


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
@pytest.mark.parametrize("path", sorted((ROOT / "grammars").glob("*.yaml")), ids=lambda p: p.stem)
def test_every_item_of_the_shipped_sheets_is_large(path: Path, size: tuple[int, int]) -> None:
    for item in load_sheet(path).items:
        due = DueItem(str(item.number), item.ask[0], item.by)
        lines = screen(usual(due=due), *size)
        assert f"{item.number} {item.by}".upper() not in lines
        assert item.ask[0].upper() not in lines
        assert any("▀" in line or "█" in line for line in lines[2:6])


def test_figures_in_ordinary_type_are_whole() -> None:
    lines = screen(usual(), 80, 24, is_ascii=True)
    assert [" ".join(line.split()) for line in lines if "42:15" in line] == [
        "42:15 2:05 25,000 45 s ago 12:30 17:30 left ! 2"
    ]


TEXT = st.text(max_size=30)
SECONDS = st.floats(min_value=-10, max_value=1e6)
LEVELS = st.floats(-200, 0) | st.sampled_from([math.nan, -math.inf])
STATES = st.builds(
    RunState,
    title=TEXT,
    run_s=SECONDS,
    due=st.none() | st.builds(DueItem, TEXT, TEXT, TEXT, TEXT, st.none() | SECONDS),
    open=st.lists(st.builds(OpenItem, TEXT, TEXT, TEXT), max_size=40).map(tuple),
    last_cue=st.none() | st.builds(LastCue, TEXT, SECONDS),
    last_altitude=st.none() | st.builds(LastValue, st.floats(-1e5, 1e5), TEXT, SECONDS),
    at_level=st.none() | st.builds(LevelTime, SECONDS, st.none() | SECONDS),
    channels=st.lists(
        st.builds(ChannelState, TEXT, st.none() | LEVELS, TEXT),
        max_size=8,
    ).map(tuple),
    recording=st.booleans(),
    fault=TEXT,
    gate=TEXT,
    answer=TEXT,
    rows=st.lists(st.builds(Row, st.integers(0, 9999), SECONDS, TEXT), max_size=60).map(tuple),
    behind_s=SECONDS,
    findings=st.integers(0, 500),
)


@given(STATES, st.integers(1, 200), st.integers(1, 60), st.booleans())
def test_no_line_is_too_wide_and_no_screen_too_high(
    state: RunState, width: int, height: int, is_ascii: bool
) -> None:
    lines = layout(state, width, height, is_ascii=is_ascii)
    assert len(lines) <= height
    assert all(line.cell_len <= width for line in lines)
    assert not is_ascii or all(line.plain.isascii() for line in lines)
    assert all("\n" not in line.plain and "\x1b" not in line.plain for line in lines)


@pytest.mark.parametrize("channels", range(7))
@pytest.mark.parametrize("height", [20, 24, 30, 50])
def test_meters_stand_at_the_foot(channels: int, height: int) -> None:
    some = tuple(ChannelState(f"position-{n}", -20.0) for n in range(channels))
    lines = screen(usual(channels=some), 80, height)
    assert len(lines) == height
    assert sum("-20 dB ok" in line for line in lines[height - (channels + 1) // 2 :]) == (
        (channels + 1) // 2
    )
