"""XES read back by rustxes (the process_mining library in Rust) and by an XML parser."""

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import rustxes

from tests.export.rows import TEXTS, hard_run, long_run, random_run
from voxlog.export.run import ExportRun
from voxlog.export.text import one_line
from voxlog.export.xes import to_xes

NAMESPACE = "{http://www.xes-standard.org/}"


def by_rustxes(run: ExportRun, folder: Path) -> list[dict[str, Any]]:
    path = folder / "run.xes"
    path.write_bytes(to_xes(run).data)
    table, _ = rustxes.import_xes(str(path))
    return list(table.to_dicts())


def test_every_row_comes_back(tmp_path: Path) -> None:
    run = hard_run()
    for row, found in zip(run.rows, by_rustxes(run, tmp_path), strict=True):
        event, moment = row.event, run.moment(row.start_ms)
        assert moment is not None
        assert found["concept:name"] == f"{event.kind} {event.item}"
        assert found["case:concept:name"] == "s-07"
        assert found["lifecycle:transition"] == "complete"
        assert found["time:timestamp"] == moment.replace(tzinfo=None)  # read as UTC
        assert (found["n"], found["t_ms"], found["t_end_ms"]) == (row.n, row.start_ms, row.end_ms)
        assert (found["heard"] or "", found["note"] or "") == (TEXTS[event.heard],) * 2
        assert (found["org:role"] or "") == event.position
        assert (found["status"], found["review"] or "") == (event.status, row.review)
        assert (found["flags"] or "") == ";".join(event.flags)
        assert (found["value"], found["p"]) == (event.value, event.p)


def test_any_text_comes_back(tmp_path: Path) -> None:
    run = random_run()
    texts = [one_line(row.event.heard) for row in run.rows]
    assert [row["heard"] or "" for row in by_rustxes(run, tmp_path)] == texts


def test_the_parts_stand_in_the_order_of_the_schema() -> None:
    """IEEE 1849's schema, from memory: extension, global, classifier, attributes, trace."""
    log = ET.fromstring(to_xes(hard_run()).data)
    names = [child.tag.removeprefix(NAMESPACE) for child in log]
    assert names == [
        *(["extension"] * 4 + ["global"] * 2 + ["classifier"] + ["string"] * 4 + ["trace"]),
    ]
    assert log.tag == f"{NAMESPACE}log"
    assert re.fullmatch(r"\d+(\.\d+)?", log.attrib["xes.version"])  # a decimal in the schema
    assert "xes.features" in log.attrib


def test_attributes_are_typed_and_each_key_stands_once() -> None:
    values = {
        "string": ".*",
        "date": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}\+00:00",
        "int": r"-?\d+",
        "float": r"-?\d+(\.\d+)?",
    }
    log = ET.fromstring(to_xes(hard_run()).data)
    for event in log.iter(f"{NAMESPACE}event"):
        keys = [attribute.attrib["key"] for attribute in event]
        assert len(set(keys)) == len(keys)
        for attribute in event:
            kind = attribute.tag.removeprefix(NAMESPACE)
            assert re.fullmatch(values[kind], attribute.attrib["value"], re.DOTALL)


def test_every_prefix_is_declared() -> None:
    log = ET.fromstring(to_xes(hard_run()).data)
    declared = {each.attrib["prefix"] for each in log.iter(f"{NAMESPACE}extension")}
    used = {each.attrib["key"] for each in log.iter() if ":" in each.attrib.get("key", "")}
    assert {key.split(":")[0] for key in used} == declared


def test_what_global_promises_every_event_has() -> None:
    log = ET.fromstring(to_xes(hard_run()).data)
    for scope, tag in (("trace", "trace"), ("event", "event")):
        (promised,) = [g for g in log.iter(f"{NAMESPACE}global") if g.attrib["scope"] == scope]
        keys = {each.attrib["key"] for each in promised}
        for one in log.iter(f"{NAMESPACE}{tag}"):
            assert keys <= {each.attrib.get("key") for each in one}


def test_without_a_start_there_are_no_time_stamps_and_it_is_told(tmp_path: Path) -> None:
    run = hard_run(None)
    assert all(row.get("time:timestamp") is None for row in by_rustxes(run, tmp_path))
    assert "--clock 0=" in to_xes(run).notes[0]
    assert to_xes(hard_run()).notes == ()


@pytest.mark.slow
def test_a_long_log_is_exact(tmp_path: Path) -> None:
    run = long_run()
    found = by_rustxes(run, tmp_path)
    assert [(row["n"], row["t_ms"], row["t_end_ms"]) for row in found] == [
        (row.n, row.start_ms, row.end_ms) for row in run.rows
    ]
    moments = [datetime.replace(row["time:timestamp"], tzinfo=UTC) for row in found]
    assert moments == [run.moment(row.start_ms) for row in run.rows]
