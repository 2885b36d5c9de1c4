"""Small changes that make an order cheaper: found, priced, and left out where they save nothing."""

from __future__ import annotations

from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest

from artcheck.domain.check import Nudge
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.shop import Method, Shop
from artcheck.pipeline import evaluate, measure_file, measure_order
from artcheck.pricing.job import Job
from artcheck.shop import load_order, load_shop
from tests.art import drawn, saved
from tests.pricing.shops import buy

ORDERS = Path(str(resources.files("artcheck"))) / "demo" / "orders"
SHOP = load_shop()


@pytest.fixture(scope="module")
def banner(tmp_path_factory: pytest.TempPathFactory) -> Measurements:
    """One ink, 12 to 11."""
    body = '<rect x="30" y="30" width="1200" height="1100" fill="#203040"/>'
    return measure_file(saved(drawn(body, 1300, 1200), tmp_path_factory.mktemp("n") / "a.png"))


def shop_of(*methods: Method) -> Shop:
    return SHOP.model_copy(update={"methods": methods})


def answer(
    art: Measurements, shop: Shop, width_in: float, pieces: int
) -> tuple[Decimal, tuple[Nudge, ...]]:
    """(decoration of the recommended method, nudges)"""
    garment = Garment(kind="tee", colour="white", fabric="cotton", quantity=pieces)
    order = Order(garment=garment, prints=(Print(art="a", width_in=width_in, inks=("Coal",)),))
    report = evaluate(art, order, shop)
    found = report.recommendation
    costs = {m.id: m.cost for m in report.methods}
    cost = costs.get(found.method or "")
    assert all(nudge.text in found.would_change_it for nudge in found.nudges)
    return (cost.decoration if cost else Decimal(0)), found.nudges


def test_a_hundredth_smaller_puts_two_across_the_roll(banner: Measurements) -> None:
    """The wheelers' print: 477.00 at 12 x 11 in, 261.00 at 11.86 x 10.87 in (rounded)."""
    shop = shop_of(SHOP.method("film-roll").model_copy(update={"recommend": True}))
    decoration, (nudge,) = answer(banner, shop, 12, 54)
    assert decoration == Decimal("477.00")
    assert (nudge.id, nudge.width_in) == (
        "smaller",
        11.865,
    )  # 10.875 in high: two and the gutter make 22
    assert nudge.saving == Decimal("216.00")
    assert "29 feet instead of 53" in nudge.text
    assert "1.1 % smaller" in nudge.text


@pytest.mark.parametrize("width_in", [4.2, 7.4, 8.1, 12.0])
def test_the_width_is_the_best_of_all_widths(banner: Measurements, width_in: float) -> None:
    """Brute force: what each width saves, weighed by how near it stays to the one ordered."""

    def cost_at(width: Decimal) -> Decimal:
        job = Job(prints=206, width_in=float(width), height_in=float(width) * 11 / 12, inks=1)
        return buy("spot", job).total

    decoration, found = answer(banner, shop_of(SHOP.method("spot")), width_in, 200)
    top = Decimal(repr(width_in))
    widths = [Decimal(n) / 200 for n in range(int(top * 180) + 1, int(top * 200))]
    worth = {w: (decoration - cost_at(w)) * (w / top - Decimal("0.9")) for w in widths}
    best = max(widths, key=lambda w: (worth[w], w))
    if not found:
        assert worth[best] == 0
        return
    (nudge,) = found
    assert Decimal(repr(nudge.width_in)) == best
    assert nudge.saving == decoration - cost_at(best)
    assert "a sheet instead of" in nudge.text


def test_no_size_is_proposed_at_which_the_method_no_longer_suits(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """At 8.1 in the thin bar is just above the shop's stop; at 8.045 in just below."""
    bars = (
        '<rect x="30" y="30" width="1200" height="1000" fill="#203040"/>'
        '<rect x="30" y="1124" width="1200" height="6" fill="#203040"/>'
    )
    folder = tmp_path_factory.mktemp("thin")
    art = measure_file(saved(drawn(bars, 1300, 1200), folder / "a.png"))
    line_pt = art.detail.thinnest_line_px or 0.0
    at = {width: line_pt * 72 / art.at(width).ppi for width in (8.1, 8.045)}
    assert at[8.1] > at[8.045]
    limits = SHOP.limits
    between = limits.line_spot.model_copy(update={"stop": (at[8.1] + at[8.045]) / 2, "change": 9.0})
    strict = shop_of(SHOP.method("spot")).model_copy(
        update={"limits": limits.model_copy(update={"line_spot": between})}
    )
    (told,) = answer(art, shop_of(SHOP.method("spot")), 8.1, 200)[1]
    assert told.width_in == 8.045
    assert answer(art, strict, 8.1, 200)[1] == ()


def test_candleworks_are_told_what_stock_inks_and_a_tenth_less_save() -> None:
    order = load_order(ORDERS / "4-candleworks.toml")
    (art,) = measure_order(order)
    stock, smaller = evaluate(art, order, SHOP).recommendation.nudges
    assert (stock.id, stock.saving) == ("stock-inks", Decimal("50.00"))  # two inks at 25.00
    assert "Plum" in stock.text
    assert "Tangerine" in stock.text
    assert (smaller.id, smaller.saving) == ("smaller", Decimal("18.00"))  # 20 x 4.50 or 12 x 6.00


def test_a_larger_run_that_costs_less_is_told_with_its_garments(banner: Measurements) -> None:
    """23 and one spare at 20.00 make 480.00; 36 prints at 8.00 make 288.00, with 12 tees more."""
    price = {
        "kind": "per_piece",
        "breaks": [1, 36],
        "by_inks": {1: ["20.00", "8.00"]},
    }
    table = SHOP.method("spot").model_dump() | {"price": price, "family": "direct", "press": None}
    shop = shop_of(Method.model_validate(table))
    decoration, (nudge,) = answer(banner, shop, 9, 23)
    assert decoration == Decimal("480.00")
    assert (nudge.id, nudge.pieces) == ("larger-run", 34)  # and two spares
    assert nudge.saving == 480 - 288 - 12 * (Decimal("4.00") + Decimal("0.40"))


def test_art_larger_than_everything_is_told_the_width_that_fits(banner: Measurements) -> None:
    shop = SHOP.model_copy(
        update={"equipment": SHOP.equipment.model_copy(update={"platen_in": None})}
    )
    _, (nudge,) = answer(banner, shop, 70, 24)
    assert nudge.id == "fits"
    assert nudge.width_in == 24.0  # the film is 22 in wide: 24 x 22 in
    assert answer(banner, shop, nudge.width_in, 24)[0] > 0
    assert answer(banner, shop, nudge.width_in + 0.02, 24)[0] == 0


def test_no_nudge_where_the_cloth_forbids_every_method() -> None:
    order = load_order(ORDERS / "7-ferry.toml")
    (art,) = measure_order(order)
    assert evaluate(art, order, SHOP).recommendation.nudges == ()


def test_no_quantity_no_nudge(banner: Measurements) -> None:
    order = Order(prints=(Print(art="a", width_in=12, inks=("Coal",)),))
    assert evaluate(banner, order, SHOP).recommendation.nudges == ()
