"""Prints of an order that are bought as one: copies of one design, designs on shared sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.shop import PriceRules, Supplier
from artcheck.pipeline.together import cheapest_choice, sharing_choices
from artcheck.pricing.job import Job
from artcheck.pricing.price_lines import price_lines
from artcheck.pricing.quote import Decoration, Run, Sharing, quote
from tests.pricing.shops import MONEY, SHOP, buy, method, usd

RULES = SHOP.prices


def part(
    method_id: str, art: str, size: tuple[float, float], prints: int, *inks: str, pieces: int = 10
) -> Decoration:
    width, height = size
    job = Job(prints=prints, width_in=width, height_in=height, inks=max(len(inks), 1))
    return Decoration(
        method=method(method_id),
        job=job,
        bought=buy(method_id, job),
        words=art,
        pieces=pieces,
        art=art,
        plates=frozenset(inks),
    )


def goods(parts: Sequence[Decoration], rules: PriceRules = RULES) -> Decimal:
    return sum((lot.bought.total for lot in Sharing(MONEY).lots(parts, rules)), Decimal(0))


def test_two_designs_of_one_ink_share_ten_sheets_and_a_plate() -> None:
    """Apart 10 sheets at 4.00 and a set-up of 10.00 each, 100.00; both fit on the same ten."""
    parts = [part("spot", "chest", (4, 4), 20, "Snow"), part("spot", "sleeve", (3, 2), 20, "Snow")]
    quoted = quote(parts, Run(pieces=10), RULES, "USD", Sharing(MONEY))
    (together,) = quoted.together
    assert quoted.decoration == together.cost == usd("50.00")
    assert together.cost_apart == usd("100.00")
    assert (together.prints, together.how) == ((0, 1), "shared sheets")
    assert quoted.cost == sum(line.amount for line in quoted.lines)
    assert [line.what for line in quoted.lines if "set-up" in line.what] == [
        "chest + sleeve: set-up per ink"
    ]


def test_the_customers_lines_split_shared_sheets_by_what_they_print() -> None:
    """20 x 16 in2 and 20 x 6 in2 share goods of 50.00 and freight of 10.00; 11 presses of 0.40."""
    parts = [part("spot", "chest", (4, 4), 20, "Snow"), part("spot", "sleeve", (3, 2), 20, "Snow")]
    run, sharing = Run(pieces=10), Sharing(MONEY)
    quoted = quote(parts, run, RULES, "USD", sharing)
    lines = price_lines(parts, run, RULES, quoted, ["tee"], ["chest", "sleeve"], sharing)
    assert sum(line.amount for line in lines) == quoted.price
    wanted = [2 * (60 * share / 22 + 11 * 0.40) for share in (16, 6)]
    assert [float(line.amount) for line in lines] == pytest.approx(wanted, abs=0.01)


def test_one_design_for_two_garments_is_one_purchase() -> None:
    """6 and 6 prints of 4.25 x 4 in film: each alone pays the least of 10.00 for a design, together
    10.20; 20 and 20 one-ink sheets of one copy: 10.00 + 60.00 each, or 10.00 + 40 x 2.00."""
    film = [part("film-area", "logo", (4.25, 4), 6) for _ in range(2)]
    assert goods(film) == usd("10.20")
    spot = [part("spot", "back", (11, 14), 20, "Snow") for _ in range(2)]
    assert goods(spot) == usd("90.00")
    quoted = quote(spot, Run(pieces=10), RULES, "USD")  # bought at once without sharing, too
    assert [t.how for t in quoted.together] == ["one design"]


def test_a_dark_and_a_light_garment_need_two_designs_where_white_lies_below() -> None:
    dark = part("spot", "back", (11, 14), 20, "Snow")
    dark = replace(dark, job=replace(dark.job, underbase=True))
    light = part("spot", "back", (11, 14), 20, "Snow")
    assert goods([dark, light]) == 2 * usd("70.00")


def test_names_lie_on_a_roll_and_on_no_sheet_that_is_printed_many_times() -> None:
    """The league: 1 + 2 + 4 feet apart, 6 feet together; spot sheets print one name each."""
    league = [("logo", (3.5, 3), 16), ("name", (10, 2), 15), ("number", (6, 8), 15)]

    def parts(method_id: str) -> list[Decoration]:
        found = []
        for art, size, prints in league:
            one = part(method_id, art, size, prints, "Snow")
            job = replace(one.job, each_different=art != "logo")
            found.append(replace(one, job=job, bought=buy(method_id, job)))
        return found

    assert goods(parts("film-roll")) == usd("54.00")
    sheets = parts("spot")
    assert goods(sheets) == sum(one.bought.total for one in sheets)


def test_sheets_are_not_shared_where_the_delivery_makes_it_dearer() -> None:
    """Apart 100.00 are delivered free; together 50.00 would pay 60.00 of freight."""
    terms = Supplier(name="transfer printer", freight=usd(60), free_from=usd(100))
    rules = RULES.model_copy(update={"suppliers": (terms,)})
    parts = [part("spot", "chest", (4, 4), 20, "Snow"), part("spot", "sleeve", (3, 2), 20, "Snow")]
    assert goods(parts, rules) == usd("100.00")


def test_prints_that_are_not_known_to_be_alike_are_bought_apart() -> None:
    parts = [part("film-area", "", (4.25, 4), 6) for _ in range(2)]
    assert goods(parts) == usd("20.00")


sizes = st.tuples(st.integers(4, 40), st.integers(4, 50)).map(lambda s: (s[0] / 4, s[1] / 4))
inks = st.sampled_from([("Snow",), ("Coal",), ("Snow", "Coal")])
options = st.lists(st.sampled_from(["spot", "film-area"]), min_size=1, max_size=2, unique=True)
orders = st.lists(
    st.tuples(sizes, st.sampled_from([11, 26, 52, 103]), inks, options), min_size=2, max_size=3
)


def landed(choice: Sequence[Decoration], sharing: Sharing) -> Decimal:
    return quote(choice, Run(pieces=10), RULES, "USD", sharing).cost


@settings(max_examples=25, deadline=None)
@given(orders)
def test_shared_sheets_are_chosen_as_by_trying_every_combination(
    order: list[tuple[tuple[float, float], int, tuple[str, ...], list[str]]],
) -> None:
    """Two or three prints by spot or film: never dearer than without sharing, and within the
    freight of one delivery of every combination tried, for most orders equal to it."""
    parts = [
        [part(name, f"art {n}", size, prints, *plates) for name in names]
        for n, (size, prints, plates, names) in enumerate(order)
    ]
    sharing = Sharing(MONEY)
    first = cheapest_choice(parts, lambda choice: quote(choice, Run(pieces=10), RULES, "USD").cost)
    found = [first, *sharing_choices(parts, first, sharing)]
    best = min(landed(choice, sharing) for choice in found)
    least = min(landed(choice, sharing) for choice in product(*parts))
    assert best <= quote(first, Run(pieces=10), RULES, "USD").cost
    assert least <= best <= least + RULES.freight_per_supplier_order
