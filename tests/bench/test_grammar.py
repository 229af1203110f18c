"""The grammar is checked by a recogniser's own reading of it where pocketsphinx is installed."""

import re
from pathlib import Path

import pytest

from tests.bench.grammar import grammar_words, sheet_grammar
from tests.bench.sphinx import grammar_decoder
from voxlog.sheet.load import load_sheet
from voxlog.sheet.phrases import Phrase, Slot

DEGREES = Slot("number", "degrees", 20, 22, 1)


def said(*phrases: Phrase) -> str:
    found = re.search(r"public <said> = (.*);", sheet_grammar(phrases))
    assert found
    return found[1]


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (["door seal"], "door (seal)"),
        (["door seal", "clean"], "door (seal) | clean"),
        (["door seal", "door open"], "door (seal | open)"),
        (["mask", "mask leak test", "mask leak"], "mask [leak [test]]"),
        (["clean", "clean"], "clean"),
    ],
)
def test_texts_are_merged_where_they_begin_alike(texts: list[str], expected: str) -> None:
    assert said(*(Phrase(text, "challenge") for text in texts)) == expected


def test_a_number_is_there_in_each_of_its_wordings() -> None:
    assert (
        said(Phrase("{value} degrees", "value", slot=DEGREES))
        == "twenty (degrees | one (degrees) | two (degrees))"
        " | two (zero (degrees) | one (degrees) | two (degrees))"
    )


def test_words_are_named_once_in_order() -> None:
    phrases = [Phrase("mask leak test", "challenge"), Phrase("no leak", "confirm")]
    assert grammar_words(phrases) == ["leak", "mask", "no", "test"]


@pytest.mark.parametrize("sheet", ["hypoxia-25", "hyperbaric-14m", "demo"])
def test_pocketsphinx_takes_the_grammar_of_a_shipped_sheet(sheet: str) -> None:
    pytest.importorskip("pocketsphinx", reason="install the extra: pip install '.[beside]'")
    decoder = grammar_decoder(load_sheet(Path("grammars") / f"{sheet}.yaml"))
    assert decoder.current_search() == "sheet"
