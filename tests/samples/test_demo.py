"""The committed recording is what the README says, and belongs to its scenario and sheet."""

import soundfile

from samples_synthetic.scenario import load_scenario
from tests.samples.rehearse import ROOT, rehearse
from voxlog.follow.event import Event
from voxlog.log.table import read_table

FOLDER = ROOT / "samples_synthetic"
SCENARIO = FOLDER / "scenarios" / "demo.yaml"


def said(events: list[Event]) -> list[tuple[object, ...]]:
    """What does not hang on how long a line takes to say; readings fill the time, so they do."""
    rows = sorted((e for e in events if e.kind in ("item", "callout", "cue")), key=in_order)
    return [(e.kind, e.item, e.status, e.flags, e.heard, e.value) for e in rows]


def in_order(event: Event) -> tuple[str, str, float]:
    return event.kind, event.item, event.value or 0.0


def test_the_recording_is_short_mono_and_small() -> None:
    path = FOLDER / "demo.flac"
    facts = soundfile.info(path)
    assert (facts.samplerate, facts.channels, facts.subtype) == (16_000, 1, "PCM_16")
    assert 200 < facts.duration < 280
    assert path.stat().st_size < 3_000_000


def test_the_truth_is_what_the_scenario_gives() -> None:
    assert said(read_table(FOLDER / "demo.truth.csv")) == said(rehearse(SCENARIO))


def test_the_truth_names_items_of_the_sheet_and_ends_within_the_recording() -> None:
    events = read_table(FOLDER / "demo.truth.csv")
    items = {item.key for item in load_scenario(SCENARIO).sheet.items}
    assert {event.item for event in events if event.kind == "item"} == items
    assert max(event.end for event in events) < soundfile.info(FOLDER / "demo.flac").duration


def test_six_deviations_are_there_to_find() -> None:
    events = read_table(FOLDER / "demo.truth.csv")
    found = {e.item for e in events if e.flags or e.status not in (None, "confirmed")}
    assert found == {"2", "4", "6", "8", "climb", "19"}
