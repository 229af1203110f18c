"""An audit's tables as CSV files and as one JSON object."""

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from voxlog.audit.audit import Audit, Scope
from voxlog.log.folder import disk_errors
from voxlog.log.table import inert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["AUDIT_FORMAT", "AUDIT_VERSION", "audit_json", "write_csv"]

AUDIT_FORMAT: Final = "voxlog-audit"
# 1: scope, totals, rates, delays, trend, together, drift, confidence.
AUDIT_VERSION: Final = 1
_DIGITS: Final = 6


def write_csv(folder: Path, audit: Audit) -> list[Path]:
    """One file a table, in a folder that is made if it is not there; the files, in order.

    A hidden number is an empty cell, and the column `hidden` says why. InputError where the folder
    cannot be written.
    """
    written = []
    with disk_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
        for name, table in audit.tables.items():
            path = folder / f"{name}.csv"
            text = _harmless(table).to_csv(
                index=False, float_format=f"%.{_DIGITS}g", lineterminator="\n"
            )
            path.write_text(text, encoding="utf-8", newline="")
            written.append(path)
    return written


def audit_json(audit: Audit) -> str:
    """The scope and every table as a list of objects; null for what is hidden or not known."""
    return json.dumps(
        {
            "format": AUDIT_FORMAT,
            "version": AUDIT_VERSION,
            "scope": _scope(audit.scope),
            **{
                name: [_plain(row) for row in table.to_dict("records")]
                for name, table in audit.tables.items()
            },
        },
        ensure_ascii=False,
        allow_nan=False,
    )


def _scope(scope: Scope) -> dict[str, Any]:
    question = scope.question
    return {
        "runs": scope.runs,
        "not_reviewed": scope.not_reviewed,
        "rows": scope.rows,
        "first": scope.first,
        "last": scope.last,
        "without_start": scope.without_start,
        "sheets": list(scope.sheets),
        "since": None if question.since is None else question.since.isoformat(),
        "sheet": question.sheet,
        "unreviewed": question.unreviewed,
        "by": question.by,
        "floor_s": question.floor_s,
        "min_cell": question.min_cell,
    }


def _plain(row: Any) -> dict[str, Any]:
    return {str(name): _plain_value(value) for name, value in row.items()}


def _plain_value(value: Any) -> Any:
    if isinstance(value, str):
        return value
    value = value.item() if hasattr(value, "item") else value
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}") if math.isfinite(value) else None
    return value


def _harmless(table: "pd.DataFrame") -> "pd.DataFrame":
    """No text that a spreadsheet runs."""
    shown = table.copy()
    for name in shown.columns:
        if shown[name].dtype.kind not in "biuf":
            shown[name] = [inert(str(text)) for text in shown[name]]
    return shown
