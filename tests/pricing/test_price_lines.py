"""A price by line: what a customer reads adds up to what the shop asks, to the cent."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.domain.prices import PerArea
from artcheck.domain.shop import Method, PriceRules, Spares
from artcheck.pricing.job import Job
from artcheck.pricing.price_lines import price_lines, shared_out
from artcheck.pricing.purchase import purchase
from artcheck.pricing.quote import Decoration, Run, money_of, quote

weights = st.lists(st.fractions(min_value=0, max_value=10_000), min_size=1, max_size=12)


@given(st.integers(0, 10**9), weights, st.sampled_from(["USD", "JPY", "KWD"]))
def test_parts_sum_to_the_amount_and_none_is_a_unit_off(
    units: int, shares: list[Fraction], currency: str
) -> None:
    digits = {"USD": 2, "JPY": 0, "KWD": 3}[currency]
    amount = Decimal(units).scaleb(-digits)
    parts = shared_out(amount, shares, currency)
    assert sum(parts) == amount
    total = sum(shares, Fraction(0))
    if total:
        unit = Fraction(1, 10**digits)
        for part, share in zip(parts, shares, strict=True):
            assert abs(Fraction(part) - Fraction(amount) * share / total) < unit


def test_equal_shares_give_the_odd_cent_to_the_first() -> None:
    assert shared_out(Decimal("10.00"), [Fraction(1)] * 3, "USD") == [
        Decimal("3.34"),
        Decimal("3.33"),
        Decimal("3.33"),
    ]
    assert shared_out(Decimal("0.01"), [Fraction(0)] * 2, "USD") == [Decimal("0.01"), Decimal(0)]


def rules(**more: object) -> PriceRules:
    base = {
        "margin": Decimal("0.37"),
        "freight_per_supplier_order": Decimal("10.00"),
        "labour_per_press": Decimal("0.43"),
        "art_per_hour": Decimal("41.00"),
        "spares": Spares(share=0.03, least=1),
        "rush_share": Decimal("0.25"),
    }
    return PriceRules.model_validate(base | more)


def decoration(width_in: float, supplier: str | None) -> Decoration:
    area = PerArea(kind="per_area", per_in2=Decimal("0.05"), least_per_design=Decimal("10.00"))
    method = Method(
        id="film",
        name="Film",
        family="full_colour",
        supplier=supplier,
        price=area,
        exact_inks=False,
        fades="yes",
        photos=True,
        each_different=True,
        part_transparent=False,
    )
    job = Job(prints=31, width_in=width_in, height_in=3, inks=1)
    return Decoration(method=method, job=job, bought=purchase(area, job, money_of(rules(), "USD")))


@pytest.mark.parametrize("rush", [False, True])
@pytest.mark.parametrize("blank", [None, Decimal("4.00")])
def test_lines_sum_to_the_quote(rush: bool, blank: Decimal | None) -> None:
    parts = [decoration(4, "printer"), decoration(9.3, "printer"), decoration(2, None)]
    run = Run(pieces=30, blank=blank, art_minutes=20, rush=rush)
    quoted = quote(parts, run, rules(), "USD")
    lines = price_lines(parts, run, rules(), quoted, ["Tee"], ["a", "b", "c"])
    assert sum(line.amount for line in lines) == quoted.price
    named = [line.what for line in lines]
    assert named == [*(["Tee"] if blank else []), "a", "b", "c", "Art work"] + (
        ["Rush, 25 %"] if rush else []
    )


def test_a_line_is_its_cost_at_the_shops_margin() -> None:
    """By hand: 31 tees at 4.00 are 124.00, at a margin of one half 248.00; the print of 4 x 3 in at
    0.05 is 0.60 a piece, 18.60, with 10.00 freight and 31 presses at 0.40: 41.00, so 82.00."""
    plain = rules(margin=Decimal("0.5"), labour_per_press=Decimal("0.40"))
    parts, run = [decoration(4, "printer")], Run(pieces=30, blank=Decimal("4.00"))
    lines = price_lines(parts, run, plain, quote(parts, run, plain, "USD"), ["Tee"], ["Print"])
    assert [(line.what, line.pieces, line.amount) for line in lines] == [
        ("Tee", 30, Decimal("248.00")),
        ("Print", 30, Decimal("82.00")),
    ]
