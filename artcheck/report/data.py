"""The report and the manifest as JSON, and the schemas that they keep to.

``python -m artcheck.report.data`` writes the schemas anew after a change of the records.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from artcheck.domain.base import Record
from artcheck.domain.check import OrderReport, Report
from artcheck.domain.gang import GangReport
from artcheck.domain.grid import GridReport
from artcheck.domain.manifest import Manifest

SCHEMA_FILE, MANIFEST_SCHEMA_FILE = "report.schema.json", "manifest.schema.json"
GANG_SCHEMA_FILE, GRID_SCHEMA_FILE = "gang.schema.json", "grid.schema.json"

_DIGITS = {"lab": 2, "share": 4, "coverage": 4, "true_dpi": 1, "effective_dpi": 1}
"""Decimals kept by key, or by its last word (``target_lab``)."""

_OTHER_DIGITS = 3
"""Decimals of everything else: inches, points and differences of colour to a thousandth."""


def to_json(report: Record) -> str:
    """The record's fixed keys as JSON text: the same record gives the same bytes.

    Floats are rounded to what they can mean, money stays a decimal string, ``tone.kind`` is called
    ``class``. Half of a surrogate pair (a file name in a broken encoding) is written as its
    escape, so that the text can be encoded.
    """
    data = _rounded(report.model_dump(by_alias=True), "")
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    return _SURROGATE.sub(lambda half: f"\\u{ord(half[0]):04x}", text) + "\n"


_SURROGATE = re.compile("[\ud800-\udfff]")


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a report of one print or of an order, from the records."""
    from pydantic.json_schema import models_json_schema

    refs, schema = models_json_schema(
        [(Report, "serialization"), (OrderReport, "serialization")], by_alias=True
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "artcheck report",
        "anyOf": [refs[Report, "serialization"], refs[OrderReport, "serialization"]],
        **schema,
    }


def _rounded(value: Any, key: str) -> Any:
    if isinstance(value, float):
        return round(value, _digits(key)) + 0.0  # + 0.0: no minus before a zero
    if isinstance(value, dict):
        return {name: _rounded(inner, name) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(inner, key) for inner in value]
    return value


def _digits(key: str) -> int:
    return _DIGITS.get(key) or _DIGITS.get(key.rpartition("_")[2], _OTHER_DIGITS)


def schema_of(record: type[Record]) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of what `to_json` writes of one kind of record."""
    schema = record.model_json_schema(mode="serialization", by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_texts() -> dict[str, str]:
    """The schema files' contents by name."""
    schemas = {
        SCHEMA_FILE: json_schema(),
        MANIFEST_SCHEMA_FILE: schema_of(Manifest),
        GANG_SCHEMA_FILE: schema_of(GangReport),
        GRID_SCHEMA_FILE: schema_of(GridReport),
    }
    return {
        name: json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        for name, schema in schemas.items()
    }


if __name__ == "__main__":
    for name, text in schema_texts().items():
        (Path(__file__).parent / name).write_text(text, encoding="utf-8")
