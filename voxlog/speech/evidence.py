"""From scores to evidence: was this phrase said, or something that the sheet does not list?"""

from dataclasses import dataclass

__all__ = ["FITTED", "Weights", "evidence_of"]


@dataclass(frozen=True, slots=True)
class Weights:
    """Logistic weights, fitted by tests/bench/fit.py on the voices and sheets kept for that.

    phrase, free: of the scores in nats. pace: of the log-likelihood of the duration.
    alike: of the likeness of the free text, 0 to 1. chance: of the logarithm of the share of a
    filling. constant: where undecided lies.
    """

    phrase: float = 0.74
    free: float = -0.1
    pace: float = 1.5
    alike: float = 5.8
    chance: float = 0.73
    constant: float = -1.4


FITTED = Weights()


def evidence_of(phrase: float, free: float, pace: float, alike: float, chance: float) -> float:
    """Log-odds that a phrase was said and not unlisted speech, in nats."""
    return (
        FITTED.phrase * phrase
        + FITTED.free * free
        + FITTED.pace * pace
        + FITTED.alike * alike
        + FITTED.chance * chance
        + FITTED.constant
    )
