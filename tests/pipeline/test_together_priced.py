"""Methods of several prints chosen together by real quotes, against every combination."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.check import CostLine
from artcheck.domain.shop import PriceRules, Supplier
from artcheck.pipeline import together
from artcheck.pipeline.together import cheapest_choice
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import Purchase
from artcheck.pricing.quote import Decoration, Run, quote
from tests.pricing.shops import SHOP, buy, method, usd

RUN = Run(pieces=10)


def cheapest_together(options: list[list[Decoration]], rules: PriceRules) -> tuple[Decoration, ...]:
    return cheapest_choice(options, lambda choice: quote(choice, RUN, rules, "USD").cost)


def option(supplier: str | None, cents: int) -> Decoration:
    """A print that costs so much from somebody."""
    total = Decimal(cents) / 100
    line = CostLine(what="prints", quantity=Decimal(1), unit_amount=total, amount=total)
    return Decoration(
        method=method("film-area").model_copy(update={"supplier": supplier}),
        job=Job(prints=11, width_in=4, height_in=4, inks=1),
        bought=Purchase(total=total, lines=(line,), unit="prints", needed=11, bought=11),
    )


suppliers = st.sampled_from(["north", "south", "west", None])
prints = st.lists(
    st.lists(st.builds(option, suppliers, st.integers(0, 3000)), min_size=1, max_size=3),
    min_size=1,
    max_size=4,
)


@settings(max_examples=60, deadline=None)
@given(prints)
def test_by_suppliers_is_the_least_of_every_combination(options: list[list[Decoration]]) -> None:
    """The way of large orders, held against all combinations of small ones."""
    rules = SHOP.prices
    least = min(quote(choice, RUN, rules, "USD").cost for choice in product(*options))
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(together, "MOST_TRIED", 0)
        chosen = cheapest_together(options, rules)
    assert quote(chosen, RUN, rules, "USD").cost == least
    assert quote(cheapest_together(options, rules), RUN, rules, "USD").cost == least


def test_thirty_prints_are_chosen_at_once() -> None:
    """Three to the thirtieth are not tried one by one. Alone each print would be cheaper from the
    north by 1.00, but 30 of them share the south's freight with the one that only the south has."""
    options = [[option("north", 300), option("south", 400), option(None, 5000)] for _ in range(8)]
    options.append([option("south", 500)])
    options += [[option("south", 100), option("north", 200)] for _ in range(21)]
    chosen = cheapest_together(options, SHOP.prices)
    assert {part.method.supplier for part in chosen} == {"south"}  # 8.00 more, 10.00 freight less
    assert sum(part.bought.total for part in chosen) == usd("32.00") + 5 + 21


def test_a_least_order_is_met_together() -> None:
    """Each print alone is cheaper by film cut in the shop than by a film order filled up to 30."""
    rules = SHOP.prices.model_copy(
        update={"suppliers": (Supplier(name="film printer", freight=usd(0), least_order=usd(30)),)}
    )
    jobs = [Job(prints=n, width_in=8, height_in=4, inks=1) for n in (9, 10)]
    options = [
        [
            Decoration(method=method(name), job=j, bought=buy(name, j))
            for name in ("film-area", "cut-film")
        ]
        for j in jobs
    ]
    alone = [cheapest_together([some], rules) for some in options]
    assert {part.method.id for (part,) in alone} == {"cut-film"}  # 17.64 and 19.60, under 30.00
    both = cheapest_together(options, rules)
    assert {part.method.id for part in both} == {"film-area"}  # 14.40 + 16.00, over 30.00
