"""The JSON Schema of the sheet format, for editors that complete and underline.

It checks the shape of a sheet. What it cannot say (positions that exist, numbers that ascend,
the phrase notation) is checked when the sheet is read.
"""

import json
from typing import Any

from pydantic import BaseModel

from voxlog.sheet.model import FORMAT_VERSION, Sheet
from voxlog.sheet.site import SITE_VERSION, Site

__all__ = ["json_schema", "schema_text", "site_schema_text"]


def json_schema() -> dict[str, Any]:
    """The schema of a sheet, JSON Schema draft 2020-12."""
    return _schema(Sheet, f"voxlog run sheet, format {FORMAT_VERSION}")


def schema_text() -> str:
    """The schema as the text of `grammars/sheet.schema.json`."""
    return json.dumps(json_schema(), indent=2) + "\n"


def site_schema_text() -> str:
    """The schema of a site file as the text of `grammars/site.schema.json`."""
    return json.dumps(_schema(Site, f"voxlog site file, format {SITE_VERSION}"), indent=2) + "\n"


def _schema(model: type[BaseModel], title: str) -> dict[str, Any]:
    schema = model.model_json_schema(by_alias=True, mode="validation")
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title}
    return head | {key: value for key, value in schema.items() if key not in head}
