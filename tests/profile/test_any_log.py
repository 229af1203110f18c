"""Whatever stands in a log, the profile holds together and nothing raises."""

import json
from itertools import pairwise
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from voxlog.follow.event import Event, Kind, Status
from voxlog.profile.duration import time_above
from voxlog.profile.estimate import altitude_profile
from voxlog.profile.physiology import physiology
from voxlog.report.profile_json import profile_json
from voxlog.sheet.load import load_sheet

GRAMMARS = Path(__file__).parents[2] / "grammars"
SHEETS = [load_sheet(GRAMMARS / f"{name}.yaml") for name in ("hypoxia-25", "hyperbaric-14m")]


@st.composite
def logs(draw: st.DrawFn) -> tuple[int, list[Event]]:
    """Rows of the right names in the wrong places, many of them at the same moment."""
    number = draw(st.integers(0, 1))
    sheet = SHEETS[number]
    steps = [
        ("item" if step.key.isdigit() else "cue", phase.id, step.key) for phase, step in sheet.steps
    ]
    calls = [("callout", phase.id, one.id) for phase in sheet.phases for one in phase.callouts]
    unit = "ft" if number == 0 else "msw"
    rows = []
    for _ in range(draw(st.integers(0, 25))):
        kind: Kind
        kind, phase, item = draw(st.sampled_from([*steps, *calls, ("hold", "", "")]))
        start = draw(st.sampled_from([0.0, 10.0, 10.0004, 100.0]) | st.floats(0, 4000))
        status: Status | None = draw(st.sampled_from([None, "confirmed", "skipped", "negative"]))
        value = draw(st.sampled_from([0.0, 2.0, 14.0, 8000.0, 25_000.0]) | st.floats(-100, 1e6))
        rows.append(
            Event(
                start,
                start + draw(st.sampled_from([0.0, 2.0])),
                kind,
                phase,
                item,
                status=status,
                value=value if kind == "callout" else None,
                unit=unit if kind == "callout" else "",
                p=draw(st.sampled_from([1.0, 0.5, 0.2])),
            )
        )
    return number, rows


@given(logs())
@settings(max_examples=50)
def test_the_profile_of_any_log_holds_together(log: tuple[int, list[Event]]) -> None:
    sheet, rows = SHEETS[log[0]], log[1]
    profile = altitude_profile(sheet, rows)
    points = profile.points
    assert all(one.t < other.t for one, other in pairwise(points))
    assert all(point.low <= point.level <= point.high for point in points)
    assert all(one.until <= other.since for one, other in pairwise(profile.stays))
    for stay in profile.stays:
        shortest, longest = stay.seconds_between
        assert 0 <= shortest <= longest
    for leg in profile.legs:
        assert leg.left_between[0] <= leg.left <= leg.reached <= leg.reached_between[1]
    if points:
        whole = points[-1].t - points[0].t
        above = time_above(profile, 5000)
        assert 0 <= above.shortest <= above.seconds <= above.longest <= whole + 1e-6
    facts = physiology(sheet, rows, profile)
    json.dumps(profile_json(profile, facts), allow_nan=False)
