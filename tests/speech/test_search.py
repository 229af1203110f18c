"""The search for phrases, over a decoding that is made up and can be counted by hand.

A token is a letter. What may follow is drawn by lot, from the letters before it.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speech import search as searching
from voxlog.speech.search import PRIOR_FLOOR, PRIOR_SHARE, Beam, Ending, Prior, Search, score_all
from voxlog.speech.utterance import Sayable
from voxlog.speech.vocabulary import Vocabulary, build_vocabulary

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

PROMPT, END = [1], 90_000
TEXTS = ("on", "on one hundred", "one", "off", "connected", "not connected", "negative", "set")


class DrawnDecoding:
    """Stands for a decoding: its rows are paths; likely words are made likelier."""

    def __init__(self, likely: str = "") -> None:
        self._likely = f" {likely}".encode() if likely else b""
        self._paths: list[bytes] = []

    @property
    def rows(self) -> int:
        return len(self._paths)

    def start(self, among: Ints) -> Floats:
        self._paths.append(b"")
        return self._following(b"", among)[np.newaxis]

    def extend(self, tokens: Ints, parents: Ints, among: Ints) -> Floats:
        new = [
            self._paths[parent] + bytes([token])
            for token, parent in zip(tokens, parents, strict=True)
        ]
        self._paths += new
        return np.array([self._following(path, among) for path in new])

    def _following(self, path: bytes, among: Ints) -> Floats:
        """Natural logarithms of the probability of each token after a path."""
        logits = np.random.default_rng([7, *path]).normal(0, 3, len(among))
        if self._likely.startswith(path):
            rest = self._likely[len(path) :]
            logits[among == (rest[0] if rest else END)] += 30
        return np.asarray(logits - np.log(np.exp(logits).sum()), np.float32)

    def log_probability(self, path: bytes, token: int, among: Ints) -> float:
        return float(self._following(path, among)[among == token][0])


def built(*texts: str) -> Vocabulary:
    said = [Sayable(text, n) for n, text in enumerate(texts)]
    return build_vocabulary(said, lambda text: list(text.encode()), PROMPT, END)


def drawn_prior(vocabulary: Vocabulary) -> Prior:
    """On noise some tokens are likely and others all but impossible."""
    random = np.random.default_rng(5)
    size = len(vocabulary.token)
    return Prior(
        random.uniform(-14, 0, size).astype(np.float32),
        random.uniform(-14, 0, size).astype(np.float32),
    )


def by_hand(
    decoding: DrawnDecoding, vocabulary: Vocabulary, prior: Prior, node: int
) -> tuple[float, float]:
    """The evidence of a text and of its end: what it scores, less a share of its prior."""
    said, path = 0.0, b""
    for step in vocabulary.path(node):
        token = int(vocabulary.token[step])
        said += decoding.log_probability(path, token, vocabulary.among)
        said -= PRIOR_SHARE * max(float(prior.token[step]), PRIOR_FLOOR)
        path += bytes([token])
    stop = decoding.log_probability(path, END, vocabulary.among)
    return said, stop - PRIOR_SHARE * max(float(prior.end[node]), PRIOR_FLOOR)


UNLIMITED = Beam(10_000, 1e9)


def found_in(
    decoding: DrawnDecoding,
    vocabulary: Vocabulary,
    prior: Prior,
    beam: Beam = UNLIMITED,
    keep: set[int] | None = None,
) -> list[Ending]:
    following = decoding.start(vocabulary.among)
    search = Search(decoding, vocabulary, prior)  # type: ignore[arg-type]
    return search.after(0, following, beam, keep or set())


def text_of(vocabulary: Vocabulary, ending: Ending) -> str:
    return vocabulary.ends[ending.node][0].text


def test_without_a_limit_every_phrase_has_its_evidence() -> None:
    vocabulary, decoding = built(*TEXTS), DrawnDecoding()
    prior = drawn_prior(vocabulary)
    endings = found_in(decoding, vocabulary, prior)
    assert sorted(text_of(vocabulary, one) for one in endings) == sorted(TEXTS)
    for one in endings:
        expected = by_hand(decoding, vocabulary, prior, one.node)
        assert (one.said, one.stop) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("said", TEXTS)
def test_with_its_limits_it_still_finds_what_was_said(said: str) -> None:
    vocabulary, decoding = built(*TEXTS), DrawnDecoding(said)
    endings = found_in(decoding, vocabulary, drawn_prior(vocabulary), Beam(28, 11.0))
    best = max(endings, key=lambda one: one.said + one.stop)
    assert text_of(vocabulary, best) == said


def test_what_falls_far_behind_is_dropped_unless_it_is_to_be_kept() -> None:
    one_wide = Beam(1, 1e9)
    vocabulary = built(*TEXTS)
    prior = drawn_prior(vocabulary)
    narrow = found_in(DrawnDecoding("negative"), vocabulary, prior, one_wide)
    assert {text_of(vocabulary, one) for one in narrow} == {"negative"}
    wanted = next(node for node, said in vocabulary.ends.items() if said[0].text == "off")
    keep = set(vocabulary.path(wanted))
    kept = found_in(DrawnDecoding("negative"), vocabulary, prior, one_wide, keep)
    assert {text_of(vocabulary, one) for one in kept} == {"negative", "off"}


def test_the_beam_counts_from_the_best_of_its_level() -> None:
    vocabulary, prior = built(*TEXTS), drawn_prior(built(*TEXTS))
    sizes = [
        len(found_in(DrawnDecoding(), vocabulary, prior, Beam(10_000, nats)))
        for nats in (0.5, 5.0, 1e9)
    ]
    assert sizes[0] <= sizes[1] <= sizes[2] == len(TEXTS)
    assert sizes[0] < sizes[2]


def test_what_falls_behind_a_phrase_that_ended_is_dropped() -> None:
    """Although it is all there is of its level."""
    vocabulary, decoding = built("on", "one hundred"), DrawnDecoding("on")
    prior = drawn_prior(vocabulary)
    endings = found_in(decoding, vocabulary, prior, Beam(20, 9.0))
    assert [text_of(vocabulary, one) for one in endings] == ["on"]
    assert decoding.rows == 1 + len(" on")
    further = found_in(DrawnDecoding("on"), vocabulary, prior, Beam(20, 1e9))
    assert [text_of(vocabulary, one) for one in further] == ["on", "one hundred"]
    keep = set(range(len(vocabulary.token)))
    kept = found_in(DrawnDecoding("on"), vocabulary, prior, Beam(20, 9.0), keep)
    assert [text_of(vocabulary, one) for one in kept] == ["on", "one hundred"]


def test_a_phrase_after_a_phrase_is_scored_where_the_first_one_ended() -> None:
    vocabulary, decoding = built("on", "set"), DrawnDecoding()
    prior = drawn_prior(vocabulary)
    first = next(
        one for one in found_in(decoding, vocabulary, prior) if text_of(vocabulary, one) == "on"
    )
    search = Search(decoding, vocabulary, prior)  # type: ignore[arg-type]
    second = [ending for _, ending in search.on([first], UNLIMITED)]
    for one in second:
        said, path = 0.0, b" on"
        for step in vocabulary.path(one.node):
            token = int(vocabulary.token[step])
            said += decoding.log_probability(path, token, vocabulary.among)
            said -= PRIOR_SHARE * max(float(prior.token[step]), PRIOR_FLOOR)
            path += bytes([token])
        assert one.said == pytest.approx(said, abs=1e-3)
    assert len(second) == 2


@pytest.mark.parametrize("at_once", [1, 3, 400])
def test_scoring_all_gives_each_node_its_own_probability(
    monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    """However many branches are decoded together."""
    monkeypatch.setattr(searching, "NODES_AT_ONCE", at_once)
    vocabulary, decoding = built(*TEXTS), DrawnDecoding()

    def decode() -> tuple[DrawnDecoding, Floats]:
        fresh = DrawnDecoding()
        return fresh, fresh.start(vocabulary.among)

    prior = score_all(decode, vocabulary)  # type: ignore[arg-type]
    for node in range(1, len(vocabulary.token)):
        path = bytes(vocabulary.token[step] for step in vocabulary.path(node))
        expected = decoding.log_probability(path[:-1], path[-1], vocabulary.among)
        assert prior.token[node] == pytest.approx(expected, abs=1e-3)
        expected = decoding.log_probability(path, END, vocabulary.among)
        assert prior.end[node] == pytest.approx(expected, abs=1e-3)
