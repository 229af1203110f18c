"""What is said to the log is taken out of the crew's talk, and nothing else is."""

from typing import Any

import pytest

from tests.live.small import SHEET, listed, plain, said
from voxlog.follow.follower import follow
from voxlog.follow.query import follow_run, hear_queries, note_of, take_out_queries
from voxlog.live.follower import LiveFollower
from voxlog.speech.utterance import Utterance


def queries(*utterances: Utterance) -> list[Any]:
    known = listed()
    return hear_queries(utterances, known.sheet, known.phrases)


@pytest.mark.parametrize(
    ("words", "act", "about"),
    [
        ("logbook open items", "ask-open", ("", None)),
        ("logbook what is open", "ask-open", ("", None)),
        ("logbook time at altitude", "ask-time", ("", None)),
        ("logbook time at depth", "ask-time", ("", None)),
        ("logbook last reading of heart rate", "ask-reading", ("heart-rate", None)),
        ("logbook last heart rate", "ask-reading", ("heart-rate", None)),
        ("logbook correction item four", "correct-item", ("", 4)),
        ("logbook mark", "mark", ("", None)),
        ("logbook", "call-word", ("", None)),
    ],
)
def test_a_question_is_heard(words: str, act: str, about: tuple[str, int | None]) -> None:
    (found,) = queries(said(10, words))
    assert (found.act, (found.reading, found.item)) == (act, about)
    assert (found.start, found.heard, found.words) == (10, words, "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("logbook mark visor is fogging", "visor is fogging"),
        ("Log book, mark: visor is fogging.", "visor is fogging"),
        ("logbook marc visor", "visor"),
        ("Logbook mark", ""),
    ],
)
def test_the_words_after_a_mark_are_its_text(text: str, words: str) -> None:
    """The whole is no phrase of the sheet, so the free text has to tell."""
    (found,) = queries(said(10, "something else altogether", text=text))
    assert (found.act, found.words) == ("mark", words)


@pytest.mark.parametrize(
    "utterance",
    [
        said(10, "intercom check"),
        said(10, "we had better look at the mark on the wall"),
        said(10, "the logbook is on the table"),
        # what the sheet surely has is believed, whatever the free text says
        said(10, "intercom check", text="logbook mark"),
        said(10, "logbook open items", -1.0),
    ],
)
def test_nothing_else_is_a_question(utterance: Utterance) -> None:
    known = listed()
    assert queries(utterance) == []
    assert len(take_out_queries([utterance], known.sheet, known.phrases)) == 1


@pytest.mark.parametrize(
    ("following", "act", "words"),
    [
        # a pause after the call-word or the mark
        (said(12, "free talk", text="open the hatch"), "call-word", ""),
        (said(12, "free talk", text="open items please"), "ask-open", ""),
        (said(12, "free talk", text="open items"), "ask-open", ""),
        (said(12, "free talk", text="last heart rate"), "ask-reading", ""),
        (said(12, "free talk", text="mark visor fogging"), "mark", "visor fogging"),
        # too late, on another channel, or the sheet's own words
        (said(30, "free talk", text="open items"), "call-word", ""),
        (said(12, "free talk", text="open items", channel=1), "call-word", ""),
        (said(12, "intercom check", text="open items"), "call-word", ""),
    ],
)
def test_a_pause_may_follow_the_call_word(following: Utterance, act: str, words: str) -> None:
    found = queries(said(10, "logbook"), following)[0]
    assert (found.act, found.words) == (act, words)
    known = listed()
    left = take_out_queries([said(10, "logbook"), following], known.sheet, known.phrases)
    assert len(left) == (1 if act == "call-word" else 0)


def test_a_mark_takes_what_is_said_next_on_its_channel() -> None:
    heard = [
        said(10, "logbook mark"),
        said(11.5, "somebody else talks", channel=1),
        said(12, "the visor is fogging up"),
        said(20, "other talk"),
    ]
    known = listed()
    (found,) = queries(*heard)
    assert (found.words, found.end) == ("the visor is fogging up", heard[2].end)
    left = take_out_queries(heard, known.sheet, known.phrases)
    assert [one.start for one in left] == [11.5, 20]


def test_the_text_of_a_mark_confirms_and_denies_nothing() -> None:
    """The recogniser parts a breath into phrases, each with the free text of the whole."""
    text = "logbook mark door shut but ajar again"
    heard = [
        said(10, "logbook mark", 5.0, text=text),
        said(11.2, "door shut", 5.0, text=text),
        said(11.9, "ajar", 5.0, text=text),
        said(30, "talk"),
    ]
    known = listed()
    (found,) = queries(*heard)
    assert (found.words, found.end) == ("door shut but ajar again", heard[2].end)
    assert [one.start for one in take_out_queries(heard, known.sheet, known.phrases)] == [30]


@pytest.mark.parametrize(
    ("words", "note"),
    [
        ("logbook open items", "asked: open items"),
        ("logbook last heart rate", "asked: last reading of heart rate"),
        ("logbook correction item four", "correction of item 4"),
        ("logbook mark", "mark"),
        ("logbook", "called; no question was understood"),
    ],
)
def test_a_question_is_kept_as_a_note(words: str, note: str) -> None:
    row = note_of(queries(said(10, words))[0])
    assert (row.kind, row.item, row.status, row.heard, row.note) == ("note", "", None, words, note)
    assert row.p > 0.9


def exchange(known: Any) -> list[Utterance]:
    lines = [
        (1, "intercom check"),
        (3, "loud and clear"),
        (9, "oxygen supply"),
        (12, "one eight five zero"),
        (20, "inner door"),
        (23, "door shut"),
    ]
    return [said(start, words, known=known) for start, words in lines]


def test_questions_in_the_middle_of_an_exchange_change_no_verdict() -> None:
    """The same rows as of the sheet without questions, and a note for each question."""
    asked, without = listed(), plain()
    lines = [
        *exchange(asked),
        said(2, "logbook open items"),
        said(10.5, "logbook correction item four"),
        said(21.5, "logbook mark"),
    ]
    lines.sort(key=lambda one: one.start)
    rows = follow_run(lines, asked.sheet, asked.phrases, 60)
    expected = follow(exchange(without), without.sheet, without.phrases, 60)
    assert [row for row in rows if row.kind != "note"] == expected
    assert [row.note for row in rows if row.kind == "note"] == [
        "asked: open items",
        "correction of item 4",
        "mark",
    ]
    live = LiveFollower(asked.sheet, asked.phrases)
    for one in lines:
        live.push(one)
    live.finish(60)
    assert len(live.rows) == len(rows)
    assert live.difference().withdrawn == 0


def test_a_sheet_without_questions_has_none_taken_out() -> None:
    known = plain()
    heard = [said(10, "logbook open items", known=known), said(20, "talk", text="logbook mark x")]
    assert take_out_queries(heard, known.sheet, known.phrases) == heard
    assert hear_queries(heard, known.sheet, known.phrases) == []
    assert "logbook" in SHEET


def test_each_question_is_to_be_answered_once_when_it_is_understood() -> None:
    known = listed()
    live = LiveFollower(known.sheet, known.phrases)
    lines = [
        said(1, "logbook open items"),
        said(5, "intercom check"),
        said(10, "logbook"),
        said(12, "free talk", text="open items"),
        said(20, "logbook mark"),
        said(22, "the visor is fogging up"),
        said(40, "logbook correction item four"),
    ]
    asked = []
    for one in lines:
        live.push(one)
        asked.append([query.act for query in live.take_questions()])
    assert asked == [["ask-open"], [], [], ["ask-open"], ["mark"], [], ["correct-item"]]
    marks = [row.event.note for row in live.rows if row.event.note.startswith("mark")]
    assert marks == ["mark: the visor is fogging up"]
