"""The printed figures of a comparison."""

import io

from rich.console import Console

from voxlog.follow.event import Event
from voxlog.report.score_table import print_scores
from voxlog.score.score import Scores, score

TRUTH = [
    Event(10, 12, "item", item="1", status="skipped"),
    Event(20, 22, "item", item="2", status="negative"),
    Event(30, 32, "item", item="3", status="confirmed"),
    Event(60, 62, "callout", item="climb", value=5000.0, unit="ft"),
    Event(90, 120, "cue", item="off"),
]
LOG = [
    *TRUTH[:1],
    Event(20.2, 22, "item", item="2", status="confirmed"),
    Event(30, 32, "item", item="3", status="confirmed", flags=("late", "uncertain")),
    *TRUTH[3:],
]

WHOLE = """\

 Finding         In truth  Found  False  Precision  Recall     F1
 ────────────────────────────────────────────────────────────────
 negative               1      0      0          -   0.000  0.000
 skipped                1      1      0      1.000   1.000  1.000
 late                   0      0      1      0.000       -  0.000

 all                    2      1      1      0.500   0.500  0.500


 Findings of     In truth  Found  False  Precision  Recall     F1
 ────────────────────────────────────────────────────────────────
 item                   2      1      1      0.500   0.500  0.500

 all                    2      1      1      0.500   0.500  0.500


 Rows of         In truth  Found  False  Precision  Recall     F1
 ────────────────────────────────────────────────────────────────
 item                   3      3      0      1.000   1.000  1.000
 callout                1      1      0      1.000   1.000  1.000
 cue                    1      1      0      1.000   1.000  1.000

 all                    5      5      0      1.000   1.000  1.000

Item status accuracy            0.666 (2 of 3)
Recall of planted deviations    0.500
Value accuracy                  1.000 (1 of 1)
Time error                      median 0.000 s, 95th percentile 0.170 s (4)
Time error of cues              median 0.000 s, 95th percentile 0.000 s (1)
False findings                  1 (30.0 an hour)
  with uncertain on right rows  1 (30.0 an hour)
Collar                          1 s, items at any distance
"""


def printed(scores: Scores) -> str:
    buffer = io.StringIO()
    print_scores(Console(file=buffer, width=80), scores)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines()) + "\n"


def test_the_whole_table() -> None:
    assert printed(score(LOG, TRUTH)) == WHOLE


def test_nothing_against_nothing_prints_no_figure_of_one() -> None:
    text = printed(score([], []))
    assert "1.000" not in text
    assert "Recall of planted deviations    -\n" in text
    assert "False findings                  0\n" in text


def test_what_is_not_all_right_does_not_print_as_all_right() -> None:
    truth = [Event(n, n + 1, "item", item=str(n), status="confirmed") for n in range(3000)]
    assert "0.999 (2999 of 3000)" in printed(score(truth[1:], truth))
