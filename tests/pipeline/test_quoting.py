"""Quotes of the demo's orders, and what a quote refuses."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from artcheck import pipeline
from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Shop
from artcheck.errors import PriceError, UsageError
from artcheck.shop import load_shop
from tests.pipeline.test_demo import EXPECTED, QUOTES, answer, read


def quoted(name: str, shop: Shop | None = None, **changed: Any) -> OrderQuote:
    order, measured = read(name)
    order, shop = order.model_copy(update=changed), shop or load_shop()
    checked = pipeline.evaluate_order(measured, order, shop)
    return pipeline.quote_order(measured, order, checked, shop)


def shop_with(**changed: Any) -> Shop:
    shop = load_shop()
    return shop.model_copy(update={"prices": shop.prices.model_copy(update=changed)})


@pytest.mark.parametrize("name", QUOTES)
def test_prices_are_the_storys_and_the_reports(name: str) -> None:
    quote, want = quoted(name), EXPECTED["quotes"][QUOTES[name][0]]
    assert quote.price == Decimal(want["price"])
    assert quote.price_per_piece == Decimal(want["each"])
    assert sum(line.amount for line in quote.lines) == quote.price
    whole = answer(name)
    assert whole.quote is not None
    assert quote.price == whole.quote.price
    if len(whole.prints) == 1:
        cost = next(m.cost for m in whole.prints[0].methods if m.id == quote.prints[0].method)
        assert cost is not None
        assert (cost.price_total, cost.price_per_piece) == (quote.price, quote.price_per_piece)


def test_another_colour_is_offered_with_what_it_means() -> None:
    (other,) = quoted("4-candleworks").alternatives
    assert (other.method, other.price) == ("film-area", Decimal("1339.76"))
    assert any("ember orange" in words for words in other.accepts)


def test_methods_that_no_consent_makes_fit_are_not_offered() -> None:
    assert quoted("1-league").alternatives == ()


def test_days_are_counted_from_the_orders_own_date() -> None:
    quote = quoted("2-bakery", date=dt.date(2026, 11, 26), number="1042")
    assert quote.valid_until == dt.date(2026, 12, 26)
    assert quote.missing == ()
    assert quoted("2-bakery").valid_until is None


def test_deposit_and_balance_make_up_the_price() -> None:
    quote = quoted("2-bakery", shop_with(deposit=0.333))
    assert quote.deposit == Decimal("115.05")  # 345.50 * 0.333 = 115.0515
    assert quote.balance == Decimal("230.45")
    assert quoted("2-bakery", shop_with(deposit=0.0)).deposit == 0


def test_what_the_shop_does_not_say_is_asked_for_and_not_made_up() -> None:
    bare = shop_with(quote_valid_days=None, deposit=None, turnaround="", tax_line="", terms=())
    quote = quoted("2-bakery", bare, customer="")
    assert (quote.valid_days, quote.deposit, quote.balance) == (None, None, None)
    assert (quote.turnaround, quote.tax_line, quote.terms) == ("", "", ())
    assert [words.split(" (")[0] for words in quote.missing] == [
        "quote number",
        "date",
        "customer",
        "validity",
        "deposit",
        "turnaround",
        "tax line",
        "terms",
    ]


def test_supplied_garments_cost_nothing_and_are_told() -> None:
    order, _ = read("2-bakery")
    garment = order.garment.model_copy(update={"supplied": True})
    quote = quoted("2-bakery", garment=garment)
    assert (quote.garments_supplied, quote.garments_included) == (True, False)
    assert [line.what for line in quote.lines] == [
        "Print 2-bakery: left chest, full-colour film by area"
    ]


def test_no_quote_without_quantity_or_method() -> None:
    order, _ = read("2-bakery")
    garment = order.garment.model_copy(update={"quantity": None})
    with pytest.raises(UsageError, match="no quantity"):
        quoted("2-bakery", garment=garment)
    with pytest.raises(PriceError, match=r"7-ferry\.svg has no price.*polypropylene"):
        quoted("7-ferry")
