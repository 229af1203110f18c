"""Gates advise on what is open when their words begin, once, and on nothing else."""

import pytest

from tests.live.small import call, cue, item, listed, said
from voxlog.follow.event import Event
from voxlog.live.follower import LiveFollower
from voxlog.live.gate import (
    Gatekeeper,
    furthest,
    open_behind,
    open_message,
    open_of,
    still_open,
)
from voxlog.live.state import OpenItem

CLOSED = [item(10, 1), item(20, 2), item(30, 4), item(40, 5)]
SHEET = listed().sheet


@pytest.mark.parametrize(
    ("before", "new", "text"),
    [
        (CLOSED, item(50, 6, "unconfirmed"), ""),
        (CLOSED[1:], item(50, 6, "unconfirmed"), "open: item 1, intercom check"),
        (CLOSED[:1], item(50, 6, "unconfirmed"), "open: item 2, oxygen supply, and 2 more"),
        # the last row of an item counts
        (
            [*CLOSED, item(45, 4, "negative")],
            item(50, 6, "unconfirmed"),
            "open: item 4, inner door, negative",
        ),
        ([item(5, 1, "negative"), *CLOSED], item(50, 6, "unconfirmed"), ""),
        (
            [item(10, 1), item(20, 2, "confirmed", "off-limit"), *CLOSED[2:]],
            item(50, 6, "unconfirmed"),
            "open: item 2, oxygen supply, off limit",
        ),
        (
            [item(10, 1, "unconfirmed"), *CLOSED[1:]],
            item(50, 6, "unconfirmed"),
            "open: item 1, intercom check",
        ),
        (
            [item(10, 1, "skipped"), *CLOSED[1:]],
            item(50, 6, "unconfirmed"),
            "open: item 1, intercom check",
        ),
        # a cue's announcement is where it begins; an item named by number may be optional
        ([*CLOSED, item(60, 7)], cue(70, "unconfirmed"), "open: item 3, outside watch"),
        ([*CLOSED, item(45, 3), item(60, 7)], cue(70, "unconfirmed"), ""),
        ([*CLOSED, item(45, 3)], cue(70), "open: item 7, altitude stable"),
        # no gate
        ([], item(10, 4, "unconfirmed"), ""),
        (CLOSED[:1], call(50, "climb", 5000), ""),
        # skipped rows and doubtful ones begin nothing, nor does an answer that nobody asked for
        (CLOSED[:1], item(50, 6, "skipped"), ""),
        (CLOSED[:1], Event(50, 52, "item", "ascent", "6", status="confirmed", p=0.3), ""),
        (
            CLOSED[:1],
            Event(50, 52, "item", "ascent", "6", status="confirmed", note="challenge not heard"),
            "",
        ),
    ],
)
def test_a_gate_says_what_is_open(before: list[Event], new: Event, text: str) -> None:
    found = Gatekeeper(SHEET, before).advise([*before, new])
    assert [one.text for one in found] == ([text] if text else [])
    assert [one.step for one in found] == ([new.item] if text else [])


def test_a_phases_gate_is_passed_once() -> None:
    """The phase was opened by its first step; later ones of it are no gate."""
    before = [item(10, 1), item(50, 6)]
    again = Event(70, 72, "item", "ascent", "6", status="unconfirmed", flags=("repeated",))
    assert Gatekeeper(SHEET, before).advise([*before, again]) == []


def test_a_gate_is_advised_on_once_however_its_row_changes() -> None:
    """As the count is heard, the row of a cue may lose its certainty and win it again."""
    gates, done = Gatekeeper(SHEET), [*CLOSED, item(60, 7)]
    texts = [
        [one.text for one in gates.advise(rows)]
        for rows in (
            done,
            [*done, cue(70, "unconfirmed")],
            [*done, Event(72, 73, "cue", "exposure", "masks-off", p=0.2)],
            done,
            [*done, cue(74)],
            [*done, cue(74), item(80, 8)],
            [*done, cue(74), item(80, 8), cue(200)],
        )
    ]
    watch = ["open: item 3, outside watch"]
    assert texts == [[], watch, [], [], [], [], watch]


def test_advice_is_over_when_all_of_it_is_closed() -> None:
    rows = [item(10, 1), item(50, 6, "unconfirmed")]
    (advice,) = Gatekeeper(SHEET, rows[:1]).advise(rows)
    assert still_open(SHEET, advice, rows) == "open: item 2, oxygen supply, and 2 more"
    rows += [item(60, 2), item(62, 5)]
    assert still_open(SHEET, advice, rows) == "open: item 4, inner door"
    assert still_open(SHEET, advice, [*rows, item(70, 4)]) == ""


def test_the_advice_comes_with_the_words_of_the_gate() -> None:
    """Through the follower: it is said at the challenge, not when it is answered."""
    live = LiveFollower(SHEET, listed().phrases)
    gates = Gatekeeper(SHEET)
    said_at = []
    for start, words in [
        (1, "intercom check"),
        (3, "loud and clear"),
        (10, "start the climb"),
        (13, "climbing"),
        (20, "altitude stable"),
        (22, "stable"),
        (30, "mask off on my mark"),
        (33, "three two one now"),
    ]:
        live.push(said(start, words))
        said_at += [(start, one.text) for one in gates.advise(live.judged)]
    assert said_at == [
        (10, "open: item 2, oxygen supply, and 2 more"),
        (30, "open: item 3, outside watch"),
    ]


@pytest.mark.parametrize(
    ("rows", "place", "numbers"),
    [
        ([], -1, []),
        ([item(10, 1)], 0, []),
        ([item(10, 1), item(20, 3)], 2, ["2"]),
        # of the group that is being worked through, the rest is still to come
        ([item(10, 1), item(20, 2), item(30, 5)], 4, []),
        ([item(10, 1), item(20, 2), item(30, 5), item(40, 6)], 5, ["4"]),
        ([item(10, 1), item(20, 2), item(30, 9, "confirmed", "out-of-order")], 1, []),
        ([item(10, 1, "negative"), item(20, 2)], 1, ["1"]),
    ],
)
def test_what_the_run_has_left_behind_is_open(
    rows: list[Event], place: int, numbers: list[str]
) -> None:
    assert furthest(SHEET, rows) == place
    assert [one.number for one in open_behind(SHEET, rows)] == numbers


def test_an_open_item_has_its_reason() -> None:
    rows = [item(10, 1, "negative"), item(20, 2, "confirmed", "off-limit"), item(30, 4, "skipped")]
    found = open_of(SHEET.items[:5], [*rows, item(40, 5, "unconfirmed")])
    assert [(one.number, one.reason) for one in found] == [
        ("1", "negative"),
        ("2", "off limit"),
        ("3", "not heard"),
        ("4", "not heard"),
        ("5", "not answered"),
    ]


@pytest.mark.parametrize(
    ("reasons", "text"),
    [
        ([], ""),
        (["not heard"], "open: item 1, visor"),
        (["negative"], "open: item 1, visor, negative"),
        (["not heard"] * 4, "open: item 1, visor, and 3 more"),
    ],
)
def test_advice_is_a_few_words(reasons: list[str], text: str) -> None:
    assert open_message([OpenItem("1", "visor", reason) for reason in reasons]) == text
