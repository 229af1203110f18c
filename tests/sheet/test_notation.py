"""Phrases mean what the W3C Note "JSpeech Grammar Format" (5 June 2000) says they mean.

The notation's rules are in its section 4: 4.2 sequences, 4.3 alternatives, 4.4 grouping with
( ) and [ ], precedence in 4.7: grouping binds first, then sequence, then `|`. (Section numbers
from memory.)
"""

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.sheet.notation import MAX_ALTERNATIVES, NotationError, expand, expand_definitions


@pytest.mark.parametrize(
    ("phrase", "texts"),
    [
        # sequence
        ("mask on", ["mask on"]),
        ("  Mask   ON ", ["mask on"]),
        # optional, the fullest first
        ("supply [pressure]", ["supply pressure", "supply"]),
        ("[the] supply", ["the supply", "supply"]),
        ("[visor down and] locked", ["visor down and locked", "locked"]),
        # alternatives, in and out of brackets
        ("on | off", ["on", "off"]),
        ("mask (on | off)", ["mask on", "mask off"]),
        ("mask [on | off]", ["mask on", "mask off", "mask"]),
        # sequence binds closer than |
        ("mask on | hose off", ["mask on", "hose off"]),
        ("a (b | c) | d", ["a b", "a c", "d"]),
        # nested
        ("a [b [c]]", ["a b c", "a b", "a"]),
        ("(a | (b | c)) d", ["a d", "b d", "c d"]),
        ("((a))", ["a"]),
        # brackets without spaces round them
        ("mask[hose](on|off)", ["mask hose on", "mask hose off", "mask on", "mask off"]),
        # each reading once
        ("(on | on) [on]", ["on on", "on"]),
        # slots stay
        ("passing {value} [feet]", ["passing {value} feet", "passing {value}"]),
        ("resume at item {item}", ["resume at item {item}"]),
        # letters of other languages, apostrophes, hyphens
        ("Maske für S\u00fcd", ["maske f\u00fcr s\u00fcd"]),
        ("don\u2019t read-back", ["don't read-back"]),
    ],
)
def test_phrase_stands_for_these_texts(phrase: str, texts: list[str]) -> None:
    assert expand(phrase) == tuple(texts)


@pytest.mark.parametrize(
    ("phrase", "message"),
    [
        ("", "words are missing at the end of the phrase"),
        ("   ", "words are missing"),
        ("a ()", "words are missing before `)` at character 4"),
        ("a | ", "words are missing at the end"),
        ("| a", "words are missing before `|` at character 1"),
        ("[a]", "may be left empty"),
        ("[a] [b]", "may be left empty"),
        ("(a", "`(` at character 1 is not closed; add `)`"),
        ("a [b (c]", "`(` at character 6 is not closed; add `)` before `]` at character 8"),
        ("a) b", "`)` at character 2 closes nothing"),
        ("a ]", "`]` at character 3 closes nothing"),
        ("a <b", "`<` at character 3 has no partner"),
        ("a {value", "`{` at character 3 has no partner"),
        ("a <b>", "<b> at character 3 is not defined"),
        ("a <>", "<> at character 3 is not defined"),
        ("a {level}", "unknown slot {level} at character 3"),
        ("passing 5000", "digits in `5000` at character 9"),
        ("mask on.", "`on.` at character 6 is not a word"),
        ("/0.5/ a", "digits in `/0.5/` at character 1"),
        ("a*", "`a*` at character 1 is not a word"),
        ('"a b"', '`"a` at character 1 is not a word'),
        ("a " * 300, "the longest allowed is 400"),
        ("(" * 50 + "a" + ")" * 50, "nest more than 12 deep"),
        ("[a] [b] [c] [d] [e] [f] g | h", f"more than {MAX_ALTERNATIVES} readings"),
    ],
)
def test_faulty_phrase_says_what_where_and_the_cure(phrase: str, message: str) -> None:
    with pytest.raises(NotationError, match=re.escape(message)):
        expand(phrase)


def test_exactly_as_many_alternatives_as_allowed_are_allowed() -> None:
    assert len(expand("[a] [b] [c] [d] [e] (f | g)")) == MAX_ALTERNATIVES


def test_definitions_may_use_each_other_in_any_order() -> None:
    definitions = {
        "all": "<shut> and <locked>",
        "shut": "shut | closed",
        "locked": "[double] locked",
    }
    expanded, faults = expand_definitions(definitions)
    assert not faults
    assert expand("door <all>", expanded) == (
        "door shut and double locked",
        "door shut and locked",
        "door closed and double locked",
        "door closed and locked",
    )


@pytest.mark.parametrize(
    ("definitions", "where", "path"),
    [
        ({"a": "x <a>"}, "a", "<a> -> <a>"),
        ({"a": "<b>", "b": "<a>"}, "a", "<a> -> <b> -> <a>"),
        ({"x": "<b>", "b": "<c> y", "c": "[<d>] z", "d": "<b>"}, "b", "<b> -> <c> -> <d> -> <b>"),
    ],
)
def test_cycle_is_named_at_its_first_definition(
    definitions: dict[str, str], where: str, path: str
) -> None:
    expanded, faults = expand_definitions(definitions)
    assert list(faults) == [where]
    assert path in faults[where]
    assert expanded.keys() == definitions.keys()


def test_every_one_of_two_cycles_is_reported() -> None:
    _, faults = expand_definitions({"a": "<b>", "b": "<a>", "c": "<c>"})
    assert list(faults) == ["a", "c"]


def test_doubling_definitions_are_stopped_before_they_fill_memory() -> None:
    bomb = {f"n{n}": f"<n{n - 1}> <n{n - 1}> <n{n - 1}>" for n in range(1, 60)} | {"n0": "lol"}
    _, faults = expand_definitions(bomb)
    assert "stands for more than 400 characters" in faults["n5"]


_words = st.sampled_from(["mask", "hose", "on", "off"])
_phrases = st.recursive(
    _words,
    lambda inner: st.one_of(
        st.tuples(inner, inner).map(" ".join),
        st.tuples(inner, inner).map(lambda pair: f"({pair[0]} | {pair[1]})"),
        inner.map(lambda text: f"mask [{text}]"),
    ),
    max_leaves=6,
)


@given(_phrases)
def test_expansion_agrees_with_a_regular_expression(phrase: str) -> None:
    """The same phrase as a regular expression accepts exactly the expanded texts."""
    pattern = re.sub(r"\w+", r"(?:\\s\g<0>)", phrase).replace(" ", "")
    pattern = pattern.replace("[", "(?:").replace("]", ")?")
    texts = expand(phrase)
    longest = max(len(text.split()) for text in texts)
    vocabulary = ["mask", "hose", "on", "off"]
    for length in range(1, min(longest, 5) + 1):
        for words in itertools.product(vocabulary, repeat=length):
            text = " ".join(words)
            assert (text in texts) == bool(re.fullmatch(pattern, f" {text}"))


@given(st.text(alphabet="ab ()[]|<>{}.'\u2019-\n\t5", max_size=40))
def test_any_text_expands_or_is_refused(phrase: str) -> None:
    try:
        texts = expand(phrase)
    except NotationError as error:
        assert "\n" not in str(error)
    else:
        assert texts and all(expand(text) == (text,) for text in texts)
