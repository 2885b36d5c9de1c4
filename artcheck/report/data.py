"""The report as JSON, and the schema that it keeps to.

``python -m artcheck.report.data`` writes the schema anew after a change of the records.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from artcheck.domain.check import OrderReport, Report
from artcheck.domain.manifest import Manifest

SCHEMA_FILE = "report.schema.json"

_DIGITS = {"lab": 2, "share": 4, "coverage": 4, "true_dpi": 1, "effective_dpi": 1}
"""Decimals kept by key, or by its last word (``target_lab``)."""

_OTHER_DIGITS = 3
"""Decimals of everything else: inches, points and differences of colour to a thousandth."""


def to_json(report: Report | OrderReport | Manifest) -> str:
    """The report's or manifest's fixed keys as JSON text: the same report gives the same bytes.

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


def schema_text() -> str:
    """The schema file's content."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    (Path(__file__).parent / SCHEMA_FILE).write_text(schema_text(), encoding="utf-8")
