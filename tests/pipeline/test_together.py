"""Methods chosen together: every choice tried where they are few, as good where they are many."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import product
from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.pipeline import together
from artcheck.pipeline.together import cheapest_choice
from artcheck.pricing.quote import Decoration

FREIGHT = {"film works": 7, "spot works": 10}


def decoration(supplier: str | None, total: int) -> Decoration:
    """As much of one as the choice looks at."""
    stand_in: Any = SimpleNamespace(
        method=SimpleNamespace(supplier=supplier), bought=SimpleNamespace(total=Decimal(total))
    )
    return cast("Decoration", stand_in)


def cost_of(choice: Sequence[Decoration]) -> Decimal:
    """Goods, and each supplier's freight once; what is made in the shop (None) has none."""
    suppliers = {one.method.supplier for one in choice} - {None}
    freight = sum(FREIGHT[name] for name in suppliers if name is not None)
    return sum((one.bought.total for one in choice), Decimal(freight))


decorations = st.builds(
    decoration, st.sampled_from([*FREIGHT, None]), st.integers(min_value=0, max_value=30)
)
parts = st.lists(st.lists(decorations, min_size=1, max_size=3), min_size=1, max_size=5)


@given(parts)
def test_the_search_is_as_good_as_trying_all(offered: list[list[Decoration]]) -> None:
    best = min(map(cost_of, product(*offered)))
    assert cost_of(cheapest_choice(offered, cost_of)) == best
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(together, "MOST_TRIED", 0)
        assert cost_of(cheapest_choice(offered, cost_of)) == best


def test_twenty_four_prints_take_few_quotes() -> None:
    """3 to the power of 24 choices are 282 thousand million."""
    asked = 0

    def counted(choice: Sequence[Decoration]) -> Decimal:
        nonlocal asked
        asked += 1
        return cost_of(choice)

    part = [decoration("film works", 9), decoration("spot works", 8), decoration(None, 12)]
    choice = cheapest_choice([part] * 24, counted)
    assert {one.method.supplier for one in choice} == {"spot works"}
    assert asked < 5_000
