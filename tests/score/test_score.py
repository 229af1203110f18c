"""The figures of a comparison: hand-counted tables, and row counts against sed_eval."""

import json
import random
from dataclasses import replace
from typing import Any

import pytest
import sed_eval

from voxlog.follow.event import FLAGS, KINDS, Event, Flag
from voxlog.score.score import Difference, score
from voxlog.score.tally import Ratio, Tally


def item(number: int, start: float, status: str = "confirmed", *flags: Flag, **more: Any) -> Event:
    return Event(start, start + 2, "item", item=str(number), status=status, flags=flags, **more)


def callout(start: float, value: float, *flags: Flag, **more: Any) -> Event:
    return Event(
        start, start + 2, "callout", item="climb", value=value, unit="ft", flags=flags, **more
    )


TRUTH = [
    item(1, 10.0),
    item(2, 20.0, "negative"),
    item(3, 30.0, "confirmed", "off-limit", value=1500.0, unit="psi"),
    item(4, 40.0, "skipped"),
    item(5, 40.0, "unconfirmed", "late"),
    callout(60.0, 5000.0, status="confirmed"),
    callout(90.0, 10_000.0, "misread", status="unconfirmed"),
    callout(95.0, 15_000.0, status="skipped"),
    Event(100.0, 101.0, "cue", item="masks-off"),
    Event(110.0, 111.0, "note", heard="free talk"),
    Event(3500.0, 3600.0, "reading", item="saturation", value=91.0, unit="%"),
]


def test_the_truth_against_itself_is_perfect() -> None:
    scores = score(TRUTH, TRUTH)
    assert scores.findings == Tally(hits=8)
    assert scores.findings_by_label == {
        "negative": Tally(hits=1),
        "misread": Tally(hits=1),
        "off-limit": Tally(hits=1),
        "skipped": Tally(hits=2),
        "unconfirmed": Tally(hits=2),
        "self-answered": Tally(),
        "out-of-order": Tally(),
        "late": Tally(hits=1),
    }
    assert scores.findings_by_kind["item"] == Tally(hits=5)
    assert scores.findings_by_kind["callout"] == Tally(hits=3)
    assert scores.rows_by_kind["item"] == Tally(hits=5)
    assert "note" not in scores.rows_by_kind
    assert scores.item_status == Ratio(5, 5)
    assert scores.values == Ratio(4, 4)
    assert scores.values_by_kind["callout"] == Ratio(2, 2)
    assert (scores.time_error.count, scores.time_error.p95_s) == (8, 0.0)
    assert (scores.cue_time_error.count, scores.cue_time_error.p95_s) == (1, 0.0)
    assert scores.false_findings_with_uncertain == 0
    assert scores.duration_s == 3600
    assert scores.differences == ()


def test_an_empty_log_has_no_figure_of_one() -> None:
    scores = score([], TRUTH)
    assert scores.findings == Tally(missed=8)
    assert (scores.findings.precision, scores.findings.recall) == (None, 0.0)
    assert scores.item_status.share == 0
    assert scores.values.share == 0
    assert scores.time_error.median_s is None
    assert scores.false_findings_per_hour == 0


def test_an_empty_truth_has_no_figure_of_one() -> None:
    scores = score(TRUTH, [])
    assert scores.findings == Tally(false=8)
    assert scores.findings.recall is None
    assert scores.item_status.share is None
    assert scores.values.share is None
    assert scores.false_findings_per_hour is None


def changed(index: int, **change: Any) -> list[Event]:
    return [replace(row, **change) if i == index else row for i, row in enumerate(TRUTH)]


def dropped(*indexes: int) -> list[Event]:
    return [row for i, row in enumerate(TRUTH) if i not in indexes]


@pytest.mark.parametrize(
    ("log", "findings", "item_status", "values"),
    [
        # Another status in place of the right one: one missed, and one false unless confirmed.
        (changed(1, status="confirmed"), (7, 0, 1), 4, 4),
        (changed(1, status="unconfirmed"), (7, 1, 1), 4, 4),
        (changed(0, status="negative"), (8, 1, 0), 4, 4),
        # A flag lost, added, or in place of another.
        (changed(2, flags=()), (7, 0, 1), 5, 4),
        (changed(2, flags=("off-limit", "late")), (8, 1, 0), 5, 4),
        (changed(2, flags=("out-of-order",)), (7, 1, 1), 5, 4),
        # Information and doubts are no findings of the run.
        (changed(0, flags=("repeated",)), (8, 0, 0), 5, 4),
        (changed(0, flags=("uncertain",)), (8, 0, 0), 5, 4),
        # Rows that are not there: their findings are missed, their values wrong.
        (dropped(3), (7, 0, 1), 4, 4),
        (dropped(6), (6, 0, 2), 5, 3),
        (dropped(0, 1, 2, 3, 4), (3, 0, 5), 0, 3),
        # A value: the number and the unit.
        (changed(5, value=5500.0), (8, 0, 0), 5, 3),
        (changed(5, unit="m"), (8, 0, 0), 5, 3),
        (changed(5, value=None), (8, 0, 0), 5, 3),
        # A level that nobody spoke has no value to get right or wrong.
        (changed(7, value=20_000.0), (8, 0, 0), 5, 4),
        # Just within the collar, and just past it: missed and false.
        (changed(6, start=91.0), (8, 0, 0), 5, 4),
        (changed(6, start=91.001), (6, 2, 2), 5, 3),
        # An item matches at any distance.
        (changed(1, start=400.0, end=401.0), (8, 0, 0), 5, 4),
        # Rows that the run has not.
        ([*TRUTH, item(6, 50.0, "skipped", "late")], (8, 2, 0), 5, 4),
        ([*TRUTH, callout(70.0, 7000.0)], (8, 0, 0), 5, 4),
        ([*TRUTH, Event(70.0, 71.0, "note", flags=("late", "uncertain"))], (8, 0, 0), 5, 4),
        # The last row of an item is its final status.
        ([*TRUTH, item(2, 500.0)], (8, 0, 0), 4, 4),
        ([*TRUTH, item(1, 500.0, "confirmed", "repeated")], (8, 0, 0), 5, 4),
        ([item(1, 5.0, "unconfirmed"), *TRUTH], (8, 1, 0), 5, 4),
    ],
)
def test_counts(
    log: list[Event], findings: tuple[int, int, int], item_status: int, values: int
) -> None:
    for order in (log, log[::-1]):
        scores = score(order, TRUTH)
        assert scores.findings == Tally(*findings)
        assert scores.item_status == Ratio(item_status, 5)
        assert scores.values == Ratio(values, 4)
        whats = [each.what for each in scores.differences]
        assert (whats.count("false"), whats.count("missed")) == findings[1:]


def test_a_row_at_its_second_occurrence_is_scored_there() -> None:
    truth = [item(1, 10.0, "skipped"), item(1, 90.0, "confirmed", "repeated")]
    scores = score([item(1, 90.2)], truth)
    assert scores.findings == Tally(missed=1)
    assert scores.item_status == Ratio(1, 1)
    assert scores.time_error.median_s == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("row", "false", "fair"),
    [
        # Right in every way, but flagged.
        (item(1, 10.4, "confirmed", "uncertain"), 1, 0),
        # Something wrong in it: the doubt was right.
        (item(1, 10.0, "unconfirmed", "uncertain"), 0, 1),
        (item(1, 10.0, "confirmed", "late", "uncertain"), 0, 1),
        (item(1, 10.0, "confirmed", "uncertain", value=7.0), 0, 1),
        # No such row in the run.
        (item(9, 10.0, "confirmed", "uncertain"), 1, 0),
        # Notes are not scored.
        (Event(10.0, 11.0, "note", flags=("uncertain",)), 0, 0),
    ],
)
def test_uncertain_rows(row: Event, false: int, fair: int) -> None:
    scores = score([row], [item(1, 10.0)])
    assert (scores.uncertain_false, scores.uncertain_fair) == (false, fair)
    assert scores.false_findings_with_uncertain == scores.findings.false + false


def test_rates_are_per_hour_of_the_recording() -> None:
    log = [*TRUTH, item(6, 50.0, "skipped"), item(7, 51.0, "confirmed", "uncertain")]
    scores = score(log, TRUTH, duration_s=1800)
    assert scores.false_findings_per_hour == 2
    assert scores.false_findings_with_uncertain_per_hour == 4


def test_times_of_skipped_rows_are_not_scored() -> None:
    log = [replace(row, start=row.start + 0.25) for row in TRUTH]
    log[3] = replace(log[3], start=80.0, end=80.0)
    log[0] = replace(log[0], status="skipped", start=700.0, end=700.0)
    scores = score(log, TRUTH)
    assert (scores.time_error.count, scores.time_error.p95_s) == (7, 0.25)


def test_differences_say_which() -> None:
    log = [*changed(1, status="confirmed"), item(6, 50.0, "skipped")]
    assert score(log, TRUTH).differences == (
        Difference("missed", "negative", "item", "2", 20.0),
        Difference("false", "skipped", "item", "6", 50.0),
    )


def test_the_scores_are_json_with_null_for_a_ratio_of_nothing() -> None:
    plain = json.loads(json.dumps(score([], []).as_dict(), allow_nan=False))
    assert plain["findings"] == {
        "hits": 0,
        "false": 0,
        "missed": 0,
        "precision": None,
        "recall": None,
        "f1": None,
    }
    assert plain["item_status"]["share"] is None
    assert plain["false_findings_per_hour"] is None
    assert plain["time_error"] == {"count": 0, "median_s": None, "p95_s": None}
    assert json.loads(json.dumps(score(TRUTH[1:], TRUTH).as_dict(), allow_nan=False))


def random_rows(random_: random.Random, count: int) -> list[Event]:
    kinds = [kind for kind in KINDS if kind not in ("item", "note")]
    starts = sorted(random_.randrange(60_000) / 1000 for _ in range(count))
    return [
        Event(start, start + 1, random_.choice(kinds), flags=(random_.choice(FLAGS),))
        for start in starts
    ]


def metadata(rows: list[Event]) -> list[dict[str, Any]]:
    return [{"event_label": r.kind, "event_onset": r.start, "event_offset": r.end} for r in rows]


@pytest.mark.parametrize("seed", range(10))
def test_rows_of_random_runs_count_as_in_sed_eval(seed: int) -> None:
    """sed_eval's event-based metrics, onset only, optimal matching, for each class of event."""
    random_ = random.Random(seed)
    truth, log = random_rows(random_, 40), random_rows(random_, 40)
    metrics = sed_eval.sound_event.EventBasedMetrics(
        event_label_list=[kind for kind in KINDS if kind not in ("item", "note")],
        t_collar=1.0005,
        evaluate_offset=False,
        event_matching_type="optimal",
    )
    metrics.evaluate(metadata(truth), metadata(log))
    rows = score(log, truth).rows_by_kind
    for kind, counts in metrics.class_wise.items():
        expected = Tally(int(counts["Ntp"]), int(counts["Nfp"]), int(counts["Nfn"]))
        assert rows[kind] == expected
    assert sum(tally.hits for tally in rows.values()) > 0
