"""The demo's eight orders, from the packaged files to the story's answers, to the cent."""

from __future__ import annotations

import json
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from artcheck import pipeline
from artcheck.domain.check import MethodReport, OrderReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.shop import load_order, load_shop

EXPECTED: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "data" / "demo_expected.json").read_text(encoding="utf-8")
)
DEMO = resources.files("artcheck") / "demo"


@lru_cache
def read(name: str) -> tuple[Order, tuple[Measurements, ...]]:
    """An order and its art measured: other tests of the orders need it too."""
    with resources.as_file(DEMO) as folder:
        order = load_order(folder / "orders" / f"{name}.toml")
        return order, pipeline.measure_order(order)


@lru_cache
def answer(name: str) -> OrderReport:
    order, measured = read(name)
    return pipeline.evaluate_order(measured, order, load_shop())


def only(name: str) -> Report:
    (report,) = answer(name).prints
    return report


def method(name: str, method_id: str) -> MethodReport:
    return next(m for m in only(name).methods if m.id == method_id)


def decoration(name: str, method_id: str) -> Decimal:
    cost = method(name, method_id).cost
    assert cost is not None
    return cost.decoration


def ids(name: str, method_id: str) -> set[str]:
    return {finding.id for finding in method(name, method_id).findings}


QUOTES = {
    "1-league": ("1", ["film-area"] * 3),
    "2-bakery": ("2", ["film-area"]),
    "3-wheelers": ("3", ["spot"]),
    "4-candleworks": ("4", ["spot"]),
    "5-fair": ("5", ["spot"]),
    "6-lanterns": ("6", ["film-area"]),
    "8-school": ("8", ["spot"]),
}


@pytest.mark.parametrize("name", QUOTES)
def test_method_and_price(name: str) -> None:
    key, methods = QUOTES[name]
    got, want = answer(name), EXPECTED["quotes"][key]
    assert [report.recommendation.method for report in got.prints] == methods
    assert got.quote is not None
    assert got.quote.cost == Decimal(want["cost"])
    assert got.quote.price == Decimal(want["price"])
    assert got.quote.price_per_piece == Decimal(want["each"])
    assert got.quote.cost == sum(line.amount for line in got.quote.lines)


def test_league_is_out_for_spot_and_warned_of_dye() -> None:
    logo, name, _ = answer("1-league").prints
    spot = logo.methods[0]
    assert spot.verdict == "unsuitable"
    assert "fabric-too-hot" in {f.id for f in spot.findings}
    film = next(m for m in logo.methods if m.id == "film-area")
    assert {"dye-migration", "childrens-goods"} <= {f.id for f in film.findings}
    assert any("pink" in f.text for f in film.findings)
    assert "each-different" in {f.id for f in name.methods[0].findings}


def test_bakery_flips_and_close_call() -> None:
    found = only("2-bakery").recommendation
    names = {"film-area": "dtf", "spot": "spot"}
    flips = [[f.from_quantity, min(f.to_quantity, 400), names[f.method]] for f in found.flips]
    assert flips == EXPECTED["orders"]["2 bakery"]["crossovers"]
    assert found.close_call == (57, 66)
    assert found.stable_from_quantity == 67
    assert decoration("2-bakery", "film-roll") == Decimal("27.00")
    assert decoration("2-bakery", "spot") == Decimal("50.00")
    assert "placement-wide" in ids("2-bakery", "film-area")


def test_wheelers_stop_on_contrast_and_offer_other_inks() -> None:
    report = only("3-wheelers")
    assert report.artwork.kind == "vector"
    assert report.artwork.declared_inks == ("Pewter",)
    assert report.resolution is None
    stop = next(f for f in method("3-wheelers", "spot").findings if f.severity == "stop")
    assert stop.id == "contrast-unreadable"
    assert "Coal or Midnight" in (stop.change or "")
    assert report.contrast[0].contrast_ratio == pytest.approx(1.37, abs=0.04)
    assert report.recommendation.flips[1].from_quantity == 7
    assert decoration("3-wheelers", "film-area") == Decimal("369.60")
    assert decoration("3-wheelers", "film-roll") == Decimal("477.00")


def test_candleworks_mixes_both_inks_because_they_are_critical() -> None:
    report = only("4-candleworks")
    assert [b.plan for b in report.brand_colours] == ["mixed", "mixed"]
    assert [b.found_in_art for b in report.brand_colours] == [True, True]
    assert decoration("4-candleworks", "spot") == Decimal("160.00")
    assert decoration("4-candleworks", "film-area") == Decimal("105.48")
    assert method("4-candleworks", "film-area").verdict == "unsuitable"
    saying = " ".join(report.recommendation.would_change_it)
    assert "54.52" in saying


def test_candleworks_unmarked_flips_at_63() -> None:
    with resources.as_file(DEMO) as folder:
        order = load_order(folder / "orders" / "4-candleworks.toml")
        (art,) = pipeline.measure_order(order)
    relaxed = tuple(b.model_copy(update={"critical": False}) for b in order.prints[0].brand_colours)
    print_ = order.prints[0].model_copy(update={"brand_colours": relaxed})
    report = pipeline.evaluate(art, order.model_copy(update={"prints": (print_,)}), load_shop())
    assert report.recommendation.method == "film-area"
    assert report.recommendation.stable_from_quantity == 63


def test_fair_buys_up_to_the_break_and_names_the_bad_logos() -> None:
    cost = method("5-fair", "spot").cost
    assert cost is not None
    assert (cost.sheets_needed, cost.sheets_bought) == (62, 80)
    assert cost.decoration == Decimal("130.00")
    report = only("5-fair")
    assert len(report.groups) in (12, 13, 14)
    low = [f for f in method("5-fair", "spot").findings if f.id == "resolution-low"]
    assert len(low) == 3
    assert all(f.evidence.where is not None for f in low)
    assert {"letters-small", "inks-reduced"} <= ids("5-fair", "spot")


def test_lanterns_are_a_photograph_with_soft_edges() -> None:
    report = only("6-lanterns")
    assert report.tone.kind == "photo"
    assert report.inks.count is None
    assert "photo-on-spot" in ids("6-lanterns", "spot")
    assert "soft-edges" in ids("6-lanterns", "film-area")


def test_ferry_is_stopped_and_cotton_is_offered() -> None:
    report = only("7-ferry")
    assert report.recommendation.method is None
    assert all("fabric-refused" in {f.id for f in m.findings} for m in report.methods)
    saying = " ".join(report.recommendation.would_change_it)
    assert "cotton" in saying
    assert "1337.80" in saying
    assert "6.69" in saying


def test_school_fade_is_two_inks_for_spot() -> None:
    report = only("8-school")
    assert report.tone.kind == "gradient"
    assert "fade-on-spot" in ids("8-school", "spot")
    assert "childrens-goods" in ids("8-school", "spot")
    assert decoration("8-school", "film-area") == Decimal("400.95")
