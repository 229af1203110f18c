"""The JSON Schema of the sheet format, for editors that complete and underline.

It checks the shape of a sheet. What it cannot say (positions that exist, numbers that ascend,
the phrase notation) is checked when the sheet is read.
"""

import json
from typing import Any

from voxlog.sheet.model import FORMAT_VERSION, Sheet

__all__ = ["json_schema", "schema_text"]


def json_schema() -> dict[str, Any]:
    """The schema, JSON Schema draft 2020-12."""
    schema = Sheet.model_json_schema(by_alias=True, mode="validation")
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"voxlog run sheet, format {FORMAT_VERSION}",
    }
    return head | {key: value for key, value in schema.items() if key not in head}


def schema_text() -> str:
    """The schema as the text of `grammars/sheet.schema.json`."""
    return json.dumps(json_schema(), indent=2) + "\n"
