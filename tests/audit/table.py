"""Small tables of rows as an audit reads them."""

from datetime import UTC, datetime
from typing import Any

import pandas as pd

from voxlog.audit.rows import COLUMNS, prepare

__all__ = ["raw_rows", "rows"]

PLAIN: dict[str, Any] = {
    "sheet": "tiny",
    "start": datetime(2026, 11, 25, 9, 30, tzinfo=UTC),
    "reviewed": True,
    "review": "",
    "kind": "item",
    "item": "1",
    "position": "attendant",
    "crew": "C-12",
    "status": "confirmed",
    "flags": "",
    "value": float("nan"),
    "unit": "",
    "p": 1.0,
    "delay_ms": float("nan"),
    "limit_low": float("nan"),
    "limit_high": float("nan"),
}
CODES = ("run", "sheet", "review", "kind", "item", "position", "crew", "status", "flags", "unit")


def raw_rows(*rows: dict[str, Any]) -> pd.DataFrame:
    """The rows, each in a run of its own unless it says which."""
    full = [{"run": f"r-{n}", **PLAIN, **row} for n, row in enumerate(rows)]
    table = pd.DataFrame(full, columns=list(COLUMNS))
    table["start"] = pd.to_datetime(table["start"], utc=True)
    return table.astype({name: "category" for name in CODES})


def rows(*given: dict[str, Any], floor_s: float = 0.3) -> pd.DataFrame:
    """The same, prepared."""
    return prepare(raw_rows(*given), floor_s)
