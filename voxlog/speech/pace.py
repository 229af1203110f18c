"""How long words take to say.

Noise hides what was said before it hides how long it took. A phrase whose length does not fit the
stretch of voice loses evidence.
"""

import math

__all__ = ["SECONDS_PER_LETTER", "pace_evidence", "seconds_to_say"]

SECONDS_START = 0.27
SECONDS_PER_LETTER = 0.048
SPREAD = 0.30
"""Standard deviation of the logarithm of duration. The three figures: least squares over clips of
the voices kept for setting constants (tests/bench/fit.py)."""
MOST_NATS = 8.0


def seconds_to_say(text: str, starts: int = 1) -> float:
    """Expected seconds of voice in ``text`` at a usual speaking rate.

    starts: how often the voice set in, as it does for each word of a countdown.
    """
    words = max(1, len(text.split()))
    return SECONDS_START * min(starts, words) + SECONDS_PER_LETTER * len(text)


def pace_evidence(text: str, voiced: float, starts: int = 1) -> float:
    """Log-likelihood in nats, 0 at best, that ``text`` took ``voiced`` seconds of voice."""
    distance = math.log(max(voiced, 0.05) / seconds_to_say(text, starts)) / SPREAD
    return -min(0.5 * distance * distance, MOST_NATS)
