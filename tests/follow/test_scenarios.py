"""Each file of scenarios/ is a run: what was heard, and the events that must come of it."""

from itertools import zip_longest
from pathlib import Path

import pytest

from tests.follow.scenario import FOLDER, Scenario, differs, read_scenario, shown

FILES = sorted(FOLDER.glob("*.txt"))


def read(file: Path) -> Scenario:
    return read_scenario(file.read_text(encoding="utf-8"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_scenario(file: Path) -> None:
    scenario = read(file)
    rows = [event for event in scenario.events() if event.kind != "note"]
    report = []
    for expected, event in zip_longest(scenario.expected, rows):
        if expected is None:
            report.append(
                f"not expected: {' '.join(shown(event))} ({event.start:.1f} {event.heard})"
            )
        elif event is None:
            report.append(f"missing: {expected.line}")
        elif wrong := differs(expected, event):
            got = f"{wrong} ({event.start:.1f} {event.heard})"
            report.append(f"expected: {expected.line}; got: {got}")
    assert not report, "\n".join(report)
