"""The obvious pipeline's follower: walk through the sheet, taking the best match of each line.

A line is compared with the challenges of the next few steps, the answers of the item that is open,
and what may be said at any time. The best match above a threshold is taken and never reconsidered.
What of the line it leaves over, before and after, is taken as a line of its own.

THRESHOLD, AHEAD and BEHIND gave the best mean item status accuracy on the recordings kept for
setting constants (fit-a and fit-b, clean and 5 dB) of 55 to 85, 3 to 12 and 1 to 10; the usual
advice is a threshold of 70, which does worse. They were never set on what is reported.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from tests.bench.likeness import Likeness, Token, likeness, tokens_of
from tests.bench.transcript import Line
from voxlog.sheet.model import Callout, Cue, Sheet
from voxlog.sheet.phrases import Act, Phrase, sheet_phrases

__all__ = ["AHEAD", "BEHIND", "THRESHOLD", "Attempt", "Call", "Said", "Walk", "walk"]

THRESHOLD = 55.0
AHEAD = 6
BEHIND = 7
READ_BACK_S = 8.0
"""How long after a callout a number is taken for its read-back, where the sheet has no limit."""

_ANSWERS = ("value", "confirm", "deny", "affirm", "negative", "correction")
_PREFERENCE: tuple[Act, ...] = (
    *("value", "confirm", "deny", "affirm", "negative", "challenge"),
    *("reading", "callout", "elapsed", "go", "announce", "hold", "resume"),
    *("receipt", "say-again", "stand-by", "disregard", "correction"),
)
"""Which act wins among equally like ones."""


@dataclass(frozen=True, slots=True)
class Said:
    """A part of a line that was taken as a phrase. score: 0 to 100."""

    phrase: Phrase
    value: float | None
    start: float
    end: float
    text: str
    score: float
    last_start: float
    """When its last word began."""


@dataclass(slots=True)
class Attempt:
    """One item being worked through. stretch: counts the resumes before it."""

    step: int
    stretch: int
    asks: list[Said]
    answer: Said | None = None
    corrected_from: float | None = None


@dataclass(slots=True)
class Call:
    """A callout, and the number that came back."""

    said: Said
    read_back: Said | None = None


@dataclass(slots=True)
class Walk:
    """What the walk has gathered. others: readings, times, cues, holds and resumes as they came."""

    attempts: list[Attempt] = field(default_factory=list)
    calls: list[Call] = field(default_factory=list)
    others: list[Said] = field(default_factory=list)


def walk(
    lines: Iterable[Line],
    sheet: Sheet,
    threshold: float = THRESHOLD,
    ahead: int = AHEAD,
    behind: int = BEHIND,
) -> Walk:
    """Go through a transcript once."""
    walker = _Walker(sheet, threshold, ahead, behind)
    for line in lines:
        walker.take(tokens_of(line))
    return walker.walk


class _Walker:
    def __init__(self, sheet: Sheet, threshold: float, ahead: int, behind: int) -> None:
        self.walk = Walk()
        self._threshold, self._ahead, self._behind = threshold, ahead, behind
        self._phrases = sheet_phrases(sheet)
        self._steps = sheet.steps
        self._step_of = {step.key: place for place, (_, step) in enumerate(self._steps)}
        self._phase_of = {phase.id: place for place, phase in enumerate(sheet.phases)}
        self._callouts: dict[tuple[str, str], Callout] = {
            (phase.id, callout.id): callout for phase in sheet.phases for callout in phase.callouts
        }
        self._cue_of = {(p.id, timed.id): timed.cue for p in sheet.phases for timed in p.elapsed}
        self._next = 0
        self._stretch = 0
        self._cues_given: set[str] = set()

    def take(self, tokens: Sequence[Token]) -> None:
        """Match a line; what is left over on either side is matched in turn."""
        if not tokens:
            return
        found = self._best(tokens)
        if found is None:
            return
        phrase, like = found
        self.take(tokens[: like.first])
        part = tokens[like.first : like.end]
        self._do(
            Said(
                phrase=phrase,
                value=like.value,
                start=part[0].start,
                end=part[-1].end,
                text=" ".join(token.said for token in part),
                score=like.score,
                last_start=part[-1].start,
            )
        )
        self.take(tokens[like.end :])

    def _best(self, tokens: Sequence[Token]) -> tuple[Phrase, Likeness] | None:
        found = [(phrase, likeness(phrase, tokens)) for phrase in self._expected()]
        found = [(phrase, like) for phrase, like in found if like.score >= self._threshold]
        return max(found, key=self._rank, default=None)

    def _rank(self, found: tuple[Phrase, Likeness]) -> tuple[float, int, bool, int]:
        phrase, like = found
        distance = abs(self._step_of.get(phrase.step, self._next) - self._next)
        callout = self._callouts.get((phrase.phase, phrase.step))
        is_due = callout is not None and like.value in callout.levels
        return like.score, -_PREFERENCE.index(phrase.act), is_due, -distance

    def _expected(self) -> Iterator[Phrase]:
        return (phrase for phrase in self._phrases if self._is_expected(phrase))

    def _is_expected(self, phrase: Phrase) -> bool:
        if phrase.act == "challenge":
            place = self._step_of[phrase.step] - self._next
            return -self._behind <= place < self._ahead
        if phrase.act in _ANSWERS:
            return self._answers_open(phrase)
        if phrase.act in ("announce", "go"):
            near = abs(self._step_of[phrase.step] - self._next) < self._ahead
            return near and phrase.step not in self._cues_given
        if phrase.act == "elapsed":
            cue = self._cue_of[phrase.phase, phrase.step]
            return self._is_near(phrase.phase) and self._step_of[cue] < self._next
        return not phrase.phase or self._is_near(phrase.phase)

    def _answers_open(self, phrase: Phrase) -> bool:
        attempt = self._open()
        if attempt is None:
            return False
        if attempt.answer and attempt.answer.phrase.act != "correction":
            return phrase.act == "correction"
        return not phrase.step or self._step_of[phrase.step] == attempt.step

    def _open(self) -> Attempt | None:
        return self.walk.attempts[-1] if self.walk.attempts else None

    def _is_near(self, phase: str) -> bool:
        at = self._phase_of[self._steps[min(self._next, len(self._steps) - 1)].phase.id]
        return abs(self._phase_of[phase] - at) <= 1

    def _do(self, said: Said) -> None:
        match said.phrase.act:
            case "challenge":
                self._ask(said)
            case "value" | "confirm" | "deny" | "affirm" | "negative" | "correction":
                self._answer(said)
            case "callout":
                self._call(said)
            case "go":
                self._cues_given.add(said.phrase.step)
                self._next = max(self._next, self._step_of[said.phrase.step] + 1)
                self.walk.others.append(said)
            case "resume":
                self._resume(said)
            case "reading" | "elapsed" | "hold":
                self.walk.others.append(said)
            case _:
                pass  # a receipt and the like settles nothing

    def _ask(self, said: Said) -> None:
        step = self._step_of[said.phrase.step]
        attempt = self._open()
        if attempt and attempt.step == step and attempt.stretch == self._stretch:
            attempt.asks.append(said)
            return
        self.walk.attempts.append(Attempt(step, self._stretch, [said]))
        self._next = max(self._next, step + 1)

    def _answer(self, said: Said) -> None:
        attempt = self._open()
        assert attempt is not None
        if said.phrase.act == "correction" and attempt.answer:
            attempt.corrected_from = attempt.answer.value
        attempt.answer = said

    def _call(self, said: Said) -> None:
        last = self.walk.calls[-1] if self.walk.calls else None
        if last and last.read_back is None and self._wants_read_back(last, said):
            last.read_back = said
        else:
            self.walk.calls.append(Call(said))

    def _wants_read_back(self, call: Call, said: Said) -> bool:
        callout = self._callouts[call.said.phrase.phase, call.said.phrase.step]
        within = callout.within or READ_BACK_S
        return callout.read_back is not None and said.start - call.said.end <= within

    def _resume(self, said: Said) -> None:
        place = self._step_of.get(f"{said.value:g}")
        if place is None or isinstance(self._steps[place].step, Cue):
            return
        self._next = place
        self._stretch += 1
        self.walk.others.append(said)
