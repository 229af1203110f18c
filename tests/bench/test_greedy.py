"""The obvious pipeline is no straw man: what it hears right it must log right."""

import pytest

from tests.bench.baseline import baseline_events
from tests.bench.transcript import Line, Word, cut_into_lines, whole_words
from voxlog.follow.event import Event
from voxlog.sheet.model import Sheet

SHEET = Sheet.model_validate(
    {
        "voxlog-sheet": 1,
        "id": "small",
        "title": "A small sheet",
        "source": "invented for tests",
        "positions": {"conductor": "Conductor", "operator": "Operator"},
        "asks": "conductor",
        "hold": ["hold the run"],
        "resume": ["resume at item {item}"],
        "readings": [
            {
                "id": "saturation",
                "by": "operator",
                "say": ["saturation {value}"],
                "unit": "%",
                "min": 65,
                "max": 100,
                "low": 40,
                "high": 100,
            }
        ],
        "phases": [
            {
                "id": "ground",
                "title": "Ground",
                "steps": [
                    {
                        "item": 1,
                        "ask": "intercom check",
                        "by": "operator",
                        "confirm": ["five by five"],
                        "deny": ["broken"],
                    },
                    {
                        "item": 2,
                        "ask": "climb to eight thousand",
                        "by": "operator",
                        "confirm": ["valve closed"],
                        "deny": ["valve open"],
                    },
                    {
                        "item": 3,
                        "ask": "supply pressure",
                        "by": "operator",
                        "value": {
                            "unit": "psi",
                            "min": 1600,
                            "max": 2200,
                            "low": 1000,
                            "high": 2500,
                            "step": 50,
                            "say": ["{value} [psi]"],
                        },
                    },
                ],
                "callouts": [
                    {
                        "id": "climb",
                        "by": "operator",
                        "say": ["passing {value}"],
                        "unit": "ft",
                        "from": 5000,
                        "to": 10000,
                        "every": 5000,
                        "read-back": "conductor",
                    }
                ],
            }
        ],
    }
)


def line(start: float, text: str) -> Line:
    return Line(
        tuple(Word(start + n / 2, start + n / 2 + 0.4, w) for n, w in enumerate(text.split()))
    )


def rows(*lines: str) -> list[Event]:
    spoken = [line(4.0 * n, text) for n, text in enumerate(lines)]
    return baseline_events(spoken, SHEET, 4.0 * len(lines) + 2)


def shown(event: Event) -> str:
    value = "" if event.value is None else f"{event.value:g}"
    parts = (event.kind, event.item, event.status or "", *event.flags, value)
    return " ".join(part for part in parts if part)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["Intercom check.", "5 by 5."], "item 1 confirmed"),
        (["Intercom check, five by five."], "item 1 confirmed"),
        (["Intercom check.", "Broken."], "item 1 negative"),
        (["Intercom check.", "Roger."], "item 1 unconfirmed"),
        (["Intercom check.", "Affirm."], "item 1 confirmed"),
        (["Intercom check.", "Intercom check.", "5 by 5"], "item 1 confirmed repeated"),
        (["Intercom check.", *["Nothing here."] * 3, "5 by 5"], "item 1 confirmed late"),
        (["Climb to 8,000.", "Valve open"], "item 2 negative"),
        (["Climb to 8,000."], "item 1 skipped"),
        (["Supply pressure.", "1,800 psi"], "item 3 confirmed 1800"),
        (["Supply pressure.", "twelve fifty"], "item 3 confirmed off-limit 1250"),
        (["Climb to 8,000.", "Intercom check."], "item 1 unconfirmed out-of-order"),
        (["Saturation, 91."], "reading saturation 91"),
        (["Saturation 62."], "reading saturation off-limit 62"),
        (["Passing 5,000", "5,000"], "callout climb confirmed 5000"),
        (["Passing 5,000", "Passing 10,000"], "callout climb unconfirmed misread 5000"),
        (["Passing 5,000"], "callout climb unconfirmed 5000"),
        (["Intercom check.", "Resume at item 1."], "resume 1"),
        (["Hold the run."], "hold"),
    ],
)
def test_a_line_becomes_a_row(lines: list[str], expected: str) -> None:
    assert expected in [shown(event) for event in rows(*lines)]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("0 Door 1 seal. 2 Clean", ["Door seal.", "Clean"]),
        ("0 Door 1 seal 3 clean", ["Door seal", "clean"]),
        ("0 Door 1 seal, 2 clean", ["Door seal, clean"]),
        ("", []),
    ],
)
def test_lines_end_at_a_full_stop_and_at_a_pause(words: str, expected: list[str]) -> None:
    """Each word is preceded by its start in seconds, and lasts 0.9 s."""
    pairs = zip(words.split()[::2], words.split()[1::2], strict=True)
    spoken = [Word(float(start), float(start) + 0.9, text) for start, text in pairs]
    assert [each.text for each in cut_into_lines(spoken)] == expected


def test_parts_of_a_word_are_joined() -> None:
    parts = [Word(0, 1, " Level"), Word(1, 2, " 25"), Word(2, 3, ",000"), Word(3, 4, ".")]
    assert whole_words(parts) == [Word(0, 1, "Level"), Word(1, 4, "25,000.")]
