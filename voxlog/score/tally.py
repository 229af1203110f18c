"""Counts and the ratios made from them. A ratio whose denominator is empty is None, never 1."""

from dataclasses import dataclass
from statistics import median, quantiles
from typing import Self

__all__ = ["Ratio", "Tally", "TimeError"]


def _divide(part: int, whole: int) -> float | None:
    return part / whole if whole else None


@dataclass(frozen=True, slots=True)
class Tally:
    """hits: in both; false: in the log only; missed: in the truth only."""

    hits: int = 0
    false: int = 0
    missed: int = 0

    def __add__(self, other: "Tally") -> "Tally":
        return Tally(self.hits + other.hits, self.false + other.false, self.missed + other.missed)

    @property
    def precision(self) -> float | None:
        return _divide(self.hits, self.hits + self.false)

    @property
    def recall(self) -> float | None:
        return _divide(self.hits, self.hits + self.missed)

    @property
    def f1(self) -> float | None:
        """Harmonic mean of the two, as 2 hits / (2 hits + false + missed)."""
        return _divide(2 * self.hits, 2 * self.hits + self.false + self.missed)

    def as_dict(self) -> dict[str, float | None]:
        return {
            "hits": self.hits,
            "false": self.false,
            "missed": self.missed,
            "precision": self.precision,
            "recall": self.recall,
            "f1": self.f1,
        }


@dataclass(frozen=True, slots=True)
class Ratio:
    """How many of all were right."""

    right: int = 0
    total: int = 0

    @property
    def share(self) -> float | None:
        return _divide(self.right, self.total)

    def as_dict(self) -> dict[str, float | None]:
        return {"right": self.right, "total": self.total, "share": self.share}


@dataclass(frozen=True, slots=True)
class TimeError:
    """Distances in seconds, all positive; None when there are none."""

    count: int
    median_s: float | None
    p95_s: float | None

    @classmethod
    def of(cls, distances_s: list[float]) -> Self:
        """The 95th percentile is interpolated between neighbours, as numpy and spreadsheets do."""
        if not distances_s:
            return cls(0, None, None)
        pair = distances_s * 2 if len(distances_s) == 1 else distances_s
        p95 = quantiles(pair, n=20, method="inclusive")[-1]
        return cls(len(distances_s), median(distances_s), p95)

    def as_dict(self) -> dict[str, float | None]:
        return {"count": self.count, "median_s": self.median_s, "p95_s": self.p95_s}
