"""From scores to evidence: was this said, or something that the sheet does not list?"""

from operator import mul
from typing import NamedTuple

__all__ = ["FITTED", "Marks", "Weights", "evidence_of"]


class Marks(NamedTuple):
    """What speaks for a reading of a segment, or against it. Scores in nats.

    phrase: log-likelihood ratio of its words against noise. pace: log-likelihood of its duration.
    alike: likeness of the free text, 0 to 1. chance: logarithm of
    the share that its numbers have of the slots' fillings. further: phrases after the first; a few
    in a row can be made to fit the length of any talk. numbers: neighbouring phrases that both
    carry a number. answered: challenges that the next phrase answers, numbers that the next phrase
    takes back, and what is put in their place.
    """

    phrase: float
    pace: float
    alike: float
    chance: float = 0.0
    further: int = 0
    numbers: int = 0
    answered: int = 0


class Weights(NamedTuple):
    """The weights of the marks in a logistic model, and its constant."""

    phrase: float
    pace: float
    alike: float
    chance: float
    further: float
    numbers: float
    answered: float
    constant: float


FITTED = Weights(0.76, 1.10, 1.87, 0.93, -3.00, -0.55, 2.43, 0.05)
"""Fitted by `python -m tests.bench fit` on the scenarios, voices and noise kept for that."""


def evidence_of(marks: Marks) -> float:
    """Log-odds in nats that a reading was said and not speech that the sheet does not list."""
    weighed: float = sum(map(mul, marks, FITTED))
    return weighed + FITTED.constant
