"""Where the line is drawn, and what comes up to it."""

import numpy as np
import pytest

from tests.bench.unlisted import accepted, threshold_of


@pytest.mark.parametrize(
    ("listed", "expected"),
    [
        (range(100), 4.0),  # 96 of 100 come up to it, and only 94 to anything above 5
        (range(20), 0.0),
        ([3.0], 3.0),
    ],
)
def test_95_of_100_listed_come_up_to_the_threshold(listed: range, expected: float) -> None:
    evidence = np.array([*listed], float)
    assert threshold_of(evidence) == expected
    assert accepted(evidence, expected) >= 0.95 * len(evidence)


def test_what_is_as_good_as_the_threshold_is_accepted() -> None:
    assert accepted(np.array([-1.0, 2.0, 2.5]), 2.0) == 2
