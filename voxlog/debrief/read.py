"""Read a run folder for its debrief; the only module here that opens the log's files."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from voxlog.debrief.run import Channel, Run, Said, SaidPhrase
from voxlog.errors import InputError
from voxlog.log.chain import open_line, split_lines
from voxlog.log.folder import CHAINED, start_of
from voxlog.log.verify import read_events
from voxlog.review.outcome import outcomes
from voxlog.review.review_log import read_review
from voxlog.sheet.load import load_sheet

__all__ = ["read_run"]


def read_run(folder: Path) -> Run:
    """The run in a folder; InputError where its log is not whole or a file cannot be read."""
    events = read_events(folder)
    review = read_review(folder)
    try:
        facts = json.loads((folder / "run.json").read_text(encoding="utf-8"))
        lines = (folder / "utterances.jsonl").read_text(encoding="utf-8").split("\n")
        heard = [json.loads(line) for line in lines if line]
        # One that was only surmised lies in the stretch of its challenge.
        said = tuple(_said(one) for one in heard if not one.get("surmised"))
        records = list(map(open_line, split_lines((folder / CHAINED).read_bytes())))
        closing = records[-1] or {}
        return Run(
            name=folder.resolve().name,
            sheet=load_sheet(folder / "sheet.yaml"),
            events=tuple(events),
            said=said,
            channels=_channels(facts),
            start=start_of(facts["clock"]),
            start_source=facts["clock"]["start_source"],
            drift_ppb=facts["clock"].get("drift_ppb", 0),
            model=facts["model"]["name"],
            version=facts["versions"]["voxlog"],
            warnings=tuple(facts["warnings"]),
            seal=closing.get("digest", ""),
            remark=_remark(records),
            outcomes=tuple(outcomes(events, review.decisions)),
            signatures=review.signatures,
            is_signed=review.is_signed,
        )
    except OSError as error:
        raise InputError(
            f"{error.filename}: cannot be read ({error.strerror}); check it with voxlog verify"
        ) from error
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        raise InputError(
            f"{folder}: run.json or utterances.jsonl is not as voxlog writes it ({error}); "
            "check it with voxlog verify"
        ) from error


def _said(record: Mapping[str, Any]) -> Said:
    return Said(
        channel=record["channel"],
        start=record["start_ms"] / 1000,
        end=record["end_ms"] / 1000,
        text=record["text"],
        phrases=tuple(
            SaidPhrase(phrase["act"], phrase["step"], phrase["text"]) for phrase in record["heard"]
        ),
    )


def _channels(facts: Mapping[str, Any]) -> tuple[Channel, ...]:
    positions = facts["settings"].get("positions", {})
    return tuple(
        Channel(
            number=number,
            path=file["path"],
            seconds=file["samples"] / file["rate_hz"],
            position=positions.get(str(number), ""),
        )
        for number, file in enumerate(facts["audio"], 1)
    )


def _remark(records: list[dict[str, Any] | None]) -> str:
    """What the log of a live run says of its provisional rows."""
    texts = [
        record.get("text", "")
        for record in records
        if record is not None and record.get("record") == "difference"
    ]
    return str(texts[-1]) if texts else ""
