"""Which designs share sheets is a matter of money."""

from __future__ import annotations

from decimal import Decimal

import pytest

from artcheck.errors import UsageError
from artcheck.pricing.gangs import Design, cheapest_gangs

WHITE, RED = frozenset({"white"}), frozenset({"red"})


def _design(name: str, size: tuple[float, float], quantity: int, inks: frozenset[str]) -> Design:
    width, height = size
    return Design(name=name, width_in=width, height_in=height, quantity=quantity, inks=inks)


def _cost(sheets: int, inks: frozenset[str]) -> Decimal:
    """Ten sheets at least, 2 each for one ink and 1 more for another; set-up 10 an ink."""
    each = 1 + len(inks)
    return Decimal(max(sheets, 10) * each + 10 * len(inks))


def test_small_runs_share_the_minimum() -> None:
    # Six of 4 x 4 on 12 x 15: alone 2 x (10 x 2 + 10) = 60; 3 and 3 on ten sheets: 30.
    designs = [_design(name, (4, 4), 30, WHITE) for name in "ab"]
    plan = cheapest_gangs(designs, (12, 15), 0.25, cost=_cost)
    assert [plan.cost, plan.cost_alone, plan.saving] == [30, 60, 30]
    assert len(plan.gangs) == 1


def test_another_ink_shares_only_where_it_pays() -> None:
    # Alone 30 + 30 = 60; together 10 sheets of two inks: 10 x 3 + 20 = 50.
    few = [_design("a", (4, 4), 30, WHITE), _design("b", (4, 4), 30, RED)]
    assert cheapest_gangs(few, (12, 15), 0.25, cost=_cost).cost == 50
    # 600 each: alone 100 sheets x 2 + 10 = 210 each; together 200 x 3 + 20 = 620.
    many = [_design("a", (4, 4), 600, WHITE), _design("b", (4, 4), 600, RED)]
    plan = cheapest_gangs(many, (12, 15), 0.25, cost=_cost)
    assert plan.cost == plan.cost_alone == 420
    assert len(plan.gangs) == 2


def test_ganging_never_costs_more_than_each_alone() -> None:
    sizes = [(3.5, 4.0), (9.0, 6.5), (4.25, 4.0), (2.0, 7.0)]
    designs = [
        _design(str(i), size, 20 + 17 * i, WHITE if i % 2 else RED) for i, size in enumerate(sizes)
    ]
    plan = cheapest_gangs(designs, (12, 15), 0.25, cost=_cost)
    assert plan.saving is not None
    assert plan.saving >= 0
    assert plan.cost == sum(gang.cost or 0 for gang in plan.gangs)
    made = {
        d.name: sum(r.sheets * r.layout.copies_of(d) for g in plan.gangs for r in g.runs)
        for d in designs
    }
    assert all(made[d.name] >= d.quantity for d in designs)


def test_many_designs_are_divided_along_their_quantities() -> None:
    designs = [_design(f"team {i}", (4, 4), 12, WHITE) for i in range(6)]
    designs += [_design("crest", (4, 4), 240, WHITE), _design("badge", (4, 4), 240, WHITE)]
    plan = cheapest_gangs(designs, (12, 15), 0.25, cost=_cost)
    # Six teams on 12 sheets, crest and badge on 80: (24 + 10) + (160 + 10).
    assert plan.cost == 204
    assert len(plan.gangs) == 2


def test_designs_that_do_not_fit_together_stay_apart() -> None:
    designs = [_design(name, (8, 8), 30, WHITE) for name in "ab"]
    plan = cheapest_gangs(designs, (12, 15), cost=_cost)
    assert plan.cost == plan.cost_alone == 140


def test_one_that_fits_nowhere_is_told() -> None:
    with pytest.raises(UsageError, match=r"b .* is larger than the sheet"):
        cheapest_gangs(
            [_design("a", (4, 4), 5, WHITE), _design("b", (13, 16), 5, WHITE)], (12, 15), cost=_cost
        )
