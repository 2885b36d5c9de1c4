"""The JSON report: its schema, its bytes, its figures."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

import jsonschema
import pytest

from artcheck.domain.check import EdgesReport
from artcheck.report import data
from tests.report import factory

FIXED_KEYS = {
    "artwork": {"file", "kind", "pixels", "has_alpha", "profile", "declared_inks"},
    "background": {"kind", "hex", "reason"},
    "printed": {"width_in", "height_in", "box_area_in2", "ink_area_in2", "coverage"},
    "inks": {"count", "count_without_white", "also_plausible", "list"},
    "tone": {"class", "gradient_share", "photo_share", "halftone"},
    "detail": {"thinnest_line_pt", "narrowest_gap_pt", "specks"},
    "edges": {"soft_share", "soft_width_pt"},
    "recommendation": {
        "method",
        "reasons",
        "alternatives",
        "flips",
        "close_call",
        "stable_from_quantity",
        "would_change_it",
    },
}
"""Keys that readers of the file rely on."""


def shipped_schema() -> dict[str, Any]:
    text = (resources.files("artcheck.report") / data.SCHEMA_FILE).read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


@pytest.mark.parametrize("name", data.schema_texts())
def test_shipped_schemas_are_made_from_the_records(name: str) -> None:
    text = (resources.files("artcheck.report") / name).read_text(encoding="utf-8")
    assert text == data.schema_texts()[name], "run python -m artcheck.report.data"
    jsonschema.Draft202012Validator.check_schema(json.loads(text))


def test_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(shipped_schema())


@pytest.mark.parametrize("name", factory.EXAMPLES)
def test_example_keeps_to_the_schema(name: str) -> None:
    written = json.loads(data.to_json(factory.EXAMPLES[name]()))
    jsonschema.Draft202012Validator(shipped_schema()).validate(written)


def test_order_keeps_to_the_schema() -> None:
    written = json.loads(data.to_json(factory.order()))
    jsonschema.Draft202012Validator(shipped_schema()).validate(written)


@pytest.mark.parametrize(
    ("key", "value"), [("printed", None), ("methods", "spot"), ("surplus", 1), ("tone", {})]
)
def test_schema_refuses_what_no_report_says(key: str, value: object) -> None:
    written = json.loads(data.to_json(factory.bakery()))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(shipped_schema()).validate(written | {key: value})


@pytest.mark.parametrize("part", FIXED_KEYS)
def test_promised_keys(part: str) -> None:
    written = json.loads(data.to_json(factory.bakery()))
    assert FIXED_KEYS[part] <= set(written[part])


def test_two_runs_give_the_same_bytes() -> None:
    assert data.to_json(factory.candleworks()) == data.to_json(factory.candleworks())


def test_ends_with_one_line_end() -> None:
    text = data.to_json(factory.bakery())
    assert text.endswith("}\n")
    assert not text.endswith("\n\n")


def test_money_is_a_decimal_string_with_its_cents() -> None:
    spot = json.loads(data.to_json(factory.bakery()))["methods"][0]["cost"]
    assert spot["total"] == "196.40"
    assert spot["lines"][0]["amount"] == "40.00"


def test_figures_are_rounded_to_what_they_can_mean() -> None:
    noisy = factory.bakery().model_copy(
        update={"edges": EdgesReport(soft_share=0.123456789, soft_width_pt=1.2345678)}
    )
    edges = json.loads(data.to_json(noisy))["edges"]
    assert edges == {"soft_share": 0.1235, "soft_width_pt": 1.235}


def test_lab_has_two_decimals_and_no_minus_zero() -> None:
    calm = factory.bakery()
    ink = calm.inks.list[0].model_copy(update={"lab": (95.0549, -0.0001, -1.6966)})
    inks = calm.inks.model_copy(update={"list": (ink,)})
    text = data.to_json(calm.model_copy(update={"inks": inks}))
    assert json.loads(text)["inks"]["list"][0]["lab"] == [95.05, 0.0, -1.7]
    assert "-0.0," not in text


def test_name_in_a_broken_encoding_can_be_written_and_read_back() -> None:
    written = data.to_json(factory.hostile()).encode("utf-8")
    assert json.loads(written)["artwork"]["file"] == factory.HOSTILE_NAME
