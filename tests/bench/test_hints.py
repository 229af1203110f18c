from tests.bench.hints import HOT_WORDS, PROMPT_WORDS, hot_words, prompt
from voxlog.sheet.phrases import Phrase, Slot

PSI = Slot("number", "psi", 1000, 2500, 50)


def test_the_words_of_challenges_come_first_and_no_numbers() -> None:
    phrases = [
        Phrase("closed and guarded", "confirm"),
        Phrase("climb to seven thousand", "challenge"),
        Phrase("start pre-breathe", "challenge"),
        Phrase("{value} degrees", "value", slot=PSI),
        Phrase("closed", "confirm"),
    ]
    assert hot_words(phrases) == "climb start pre-breathe closed guarded degrees"


def test_the_prompt_is_whole_challenges() -> None:
    phrases = [
        Phrase("intercom check", "challenge"),
        Phrase("five by five", "confirm"),
        Phrase("dump valve", "challenge"),
    ]
    assert prompt(phrases) == "Intercom check. Dump valve."


def test_hints_leave_room_for_the_answer() -> None:
    many = [Phrase(f"check item{n}", "challenge") for n in range(300)]
    assert len(hot_words(many).split()) == HOT_WORDS
    assert len(prompt(many).split()) == PROMPT_WORDS
