"""The flat list of what a sheet makes sayable."""

import pytest

from voxlog.sheet.load import read_sheet
from voxlog.sheet.phrases import ASKED_OF_THE_LOG, Phrase, Slot, sheet_phrases

LEVEL = Slot("altitude", "ft", 0, 30000, 5000)
PSI = Slot("number", "psi", 1300, 2500, 50)


@pytest.fixture
def phrases(small_sheet: str) -> tuple[Phrase, ...]:
    return sheet_phrases(read_sheet(small_sheet))


@pytest.mark.parametrize(
    ("step", "expected"),
    [
        (
            "1",
            [
                Phrase("intercom check", "challenge", "1", "ground", "conductor"),
                Phrase("loud and clear", "confirm", "1", "ground", "attendant"),
                Phrase("five by five", "confirm", "1", "ground", "attendant"),
                Phrase("not reading you", "deny", "1", "ground", "attendant"),
            ],
        ),
        (
            "2",
            [
                Phrase("oxygen supply", "challenge", "2", "ground", "conductor"),
                Phrase("supply pressure please", "challenge", "2", "ground", "conductor"),
                Phrase("supply pressure", "challenge", "2", "ground", "conductor"),
                Phrase("{value} psi", "value", "2", "ground", "operator", ("attendant",), PSI),
                Phrase("{value}", "value", "2", "ground", "operator", ("attendant",), PSI),
            ],
        ),
        (
            "masks-off",
            [
                Phrase(text, act, "masks-off", "run", "conductor")
                for text, act in [
                    ("masks off on my mark", "announce"),
                    ("masks off on my mark three two one", "announce"),
                    ("three two one", "announce"),
                    ("now", "go"),
                    ("three two one now", "go"),
                    ("masks off on my mark three two one now", "go"),
                ]
            ],
        ),
        (
            # the read-back may be the bare number, or one after a receipt
            "climb",
            [
                Phrase(
                    "passing {value}", "callout", "climb", "run", "operator", ("conductor",), LEVEL
                ),
                *(
                    Phrase(text, "callout", "climb", "run", "conductor", ("operator",), LEVEL)
                    for text in ("{value}", "roger {value}", "copied {value}")
                ),
            ],
        ),
        (
            "time-off",
            [
                Phrase(
                    "{value}",
                    "elapsed",
                    "time-off",
                    "run",
                    "operator",
                    (),
                    Slot("duration", "s", 5, 150, 5),
                )
            ],
        ),
        (
            # a reading of the whole sheet belongs to no phase
            "pulse",
            [
                Phrase(
                    "pulse {value}",
                    "reading",
                    "pulse",
                    "",
                    "attendant",
                    (),
                    Slot("number", "bpm", 25, 125, 1),
                )
            ],
        ),
    ],
)
def test_a_step_gives_these_phrases(
    phrases: tuple[Phrase, ...], step: str, expected: list[Phrase]
) -> None:
    assert [phrase for phrase in phrases if phrase.step == step] == expected


def test_words_belong_to_no_step_and_anyone_may_say_them(phrases: tuple[Phrase, ...]) -> None:
    words = [phrase for phrase in phrases if not phrase.step]
    assert Phrase("hold the run", "hold") in words
    assert Phrase("resume at item {item}", "resume", slot=Slot("number", "", 1, 6, 1)) in words
    assert Phrase("say again", "say-again") in words
    assert Phrase("roger", "receipt") in words
    assert {phrase.position for phrase in words} == {""}


def test_every_phrase_stands_once_and_a_slot_has_its_number(phrases: tuple[Phrase, ...]) -> None:
    assert len(set(phrases)) == len(phrases)
    for phrase in phrases:
        assert ("{" in phrase.text) == (phrase.slot is not None)


@pytest.mark.parametrize(
    ("cue", "texts"),
    [
        ("{cue: c, by: conductor}", ["now"]),
        ("{cue: c, by: conductor, count: [two, one]}", ["two one", "now", "two one now"]),
        ("{cue: c, by: conductor, say: on go, go: go}", ["on go", "go", "on go go"]),
    ],
)
def test_a_cue_without_all_its_parts_gives_those_it_has(
    small_sheet: str, cue: str, texts: list[str]
) -> None:
    step = f"    steps:\n      - {cue}\n      - {{item: 6"
    text = small_sheet.replace("cue: masks-off, every", "cue: c, every")
    start = text.index("    steps:", text.index("id: run"))
    text = text[:start] + step + text[text.index("{item: 6") + len("{item: 6") :]
    phrases = sheet_phrases(read_sheet(text))
    assert [phrase.text for phrase in phrases if phrase.step == "c"] == texts


ASKED = """\
ask-by-voice: {call-word: logbook, open-items: "[all] open items", time-at-level: time at altitude}
"""


def test_questions_to_the_log_come_last_and_change_nothing_before_them(small_sheet: str) -> None:
    plain = sheet_phrases(read_sheet(small_sheet))
    asked = sheet_phrases(read_sheet(ASKED + small_sheet))
    assert asked[: len(plain)] == plain
    assert asked[len(plain) :] == (
        Phrase("logbook", "call-word"),
        Phrase("logbook all open items", "ask-open"),
        Phrase("logbook open items", "ask-open"),
        Phrase("logbook time at altitude", "ask-time"),
        Phrase("logbook last reading of pulse", "ask-reading", "pulse"),
        Phrase("logbook last reading of saturation", "ask-reading", "saturation"),
        Phrase("logbook last pulse", "ask-reading", "pulse"),
        Phrase("logbook last saturation", "ask-reading", "saturation"),
        Phrase("logbook mark", "mark"),
        Phrase("logbook correction item {item}", "correct-item", slot=Slot("number", "", 1, 6, 1)),
    )
    assert {phrase.act for phrase in asked[len(plain) :]} == ASKED_OF_THE_LOG
    assert not {phrase.act for phrase in plain} & ASKED_OF_THE_LOG
