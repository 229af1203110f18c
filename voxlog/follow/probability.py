"""From evidence in nats to probabilities."""

import math
from collections.abc import Hashable, Iterable, Mapping
from typing import TypeVar

__all__ = ["best_of_each", "log_odds", "posterior", "squash"]

K = TypeVar("K", bound=Hashable)


def squash(evidence: float) -> float:
    """The probability of log-odds in nats."""
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, evidence))))


def log_odds(p: float) -> float:
    """What squash makes p of, in nats; at most 30 either way."""
    least = squash(-30.0)
    p = max(least, min(1.0 - least, p))
    return math.log(p / (1.0 - p))


def posterior(evidence: Mapping[K, float]) -> dict[K, float]:
    """Probabilities of alternatives that exclude each other, equally likely beforehand."""
    top = max(evidence.values())
    weight = {key: math.exp(value - top) for key, value in evidence.items()}
    total = sum(weight.values())
    return {key: value / total for key, value in weight.items()}


def best_of_each(found: Iterable[tuple[K, float]]) -> dict[K, float]:
    """The best evidence of each key."""
    best: dict[K, float] = {}
    for key, evidence in found:
        best[key] = max(evidence, best.get(key, evidence))
    return best
