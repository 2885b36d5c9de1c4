"""The report as JSON, and the schema that it keeps to.

``python -m artcheck.report.data`` writes the schema anew after a change of the records.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from artcheck.domain.check import OrderReport, Report

SCHEMA_FILE = "report.schema.json"

_DIGITS = {
    "lab": 2,
    "share": 4,
    "coverage": 4,
    "width_in": 3,
    "height_in": 3,
    "largest_width_in": 2,
}
"""Decimals kept by key (or its end); everything else keeps `_OTHER_DIGITS`."""

_OTHER_DIGITS = 3


def to_json(report: Report | OrderReport) -> str:
    """The report's fixed keys as JSON text: the same report gives the same bytes."""
    data = _rounded(report.model_dump(mode="json", by_alias=True), "")
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def json_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a report of one print or of an order, made from the records."""
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
    """Floats rounded to what their unit can carry, so that noise does not look like precision."""
    if isinstance(value, float):
        return round(value, _digits(key))
    if isinstance(value, dict):
        return {name: _rounded(inner, name) for name, inner in value.items()}
    if isinstance(value, list):
        return [_rounded(inner, key) for inner in value]
    return value


def _digits(key: str) -> int:
    exact = _DIGITS.get(key)
    if exact is not None:
        return exact
    return next((d for end, d in _DIGITS.items() if key.endswith(f"_{end}")), _OTHER_DIGITS)


def schema_text() -> str:
    """The schema file's content."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    (Path(__file__).parent / SCHEMA_FILE).write_text(schema_text(), encoding="utf-8")
