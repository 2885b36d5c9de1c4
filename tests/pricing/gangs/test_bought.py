"""Gangs bought from the invented price lists, to the cent."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.pricing.gangs import Design, roll_ganged, sheets_ganged
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import purchase
from tests.pricing.shops import MONEY, method, usd

SPOT = PerSheet.model_validate(method("spot").price.model_dump())
ROLL = PerRoll.model_validate(method("film-roll").price.model_dump())


def design(name: str, width: float, height: float, quantity: int, *inks: str) -> Design:
    return Design(
        name=name, width_in=width, height_in=height, quantity=quantity, inks=frozenset(inks)
    )


def alone(price: PerSheet | PerRoll, one: Design) -> Decimal:
    job = Job(
        prints=one.quantity,
        width_in=float(one.width_in),
        height_in=float(one.height_in),
        inks=max(len(one.inks), 1),
    )
    return purchase(price, job, MONEY).total


LEAGUE = [
    design("logo", 3.5, 3, 16),
    design("name", 10, 2, 15),
    design("number", 6, 8, 15),
]


def test_league_on_one_roll_saves_a_foot() -> None:
    """Apart 1 + 2 + 4 begun feet at 9.00; pieces alone cover 1188 in2, 4.5 ft of the roll."""
    assert [alone(ROLL, one) for one in LEAGUE] == [usd("9.00"), usd("18.00"), usd("36.00")]
    ganged = roll_ganged(ROLL, LEAGUE, (), MONEY)
    assert ganged.total == usd("54.00")
    assert (ganged.needed, ganged.lower_bound) == (6, 5)
    assert not ganged.proven


def test_same_ink_shares_the_minimum_and_the_plate() -> None:
    """Each alone: 10 sheets at 4.00 and a set-up of 10.00; both fit on 10 sheets together."""
    pair = [design("chest", 4, 4, 20, "Snow"), design("sleeve", 3, 2, 20, "Snow")]
    assert [alone(SPOT, one) for one in pair] == [usd("50.00")] * 2
    ganged = sheets_ganged(SPOT, pair, (), MONEY)
    assert ganged.total == usd("50.00")
    assert len(ganged.laid) == 1


def test_another_ink_is_paid_for_on_the_shared_sheet() -> None:
    """Two inks on 10 sheets: 60.00 and two set-ups; two sheets of their own would cost 100.00."""
    pair = [design("chest", 4, 4, 20, "Snow"), design("sleeve", 3, 2, 20, "Poppy")]
    assert sheets_ganged(SPOT, pair, (), MONEY).total == usd("80.00")


def test_mixed_inks_are_paid_once_a_layout() -> None:
    pair = [design("chest", 4, 4, 20, "teal mixed"), design("sleeve", 3, 2, 20, "teal mixed")]
    ganged = sheets_ganged(SPOT, pair, (), MONEY, mixed=frozenset({"teal mixed"}))
    assert ganged.total == usd("75.00")


def test_more_inks_than_the_list_knows_never_share() -> None:
    pair = [design("a", 4, 4, 20, "1", "2", "3"), design("b", 4, 4, 20, "4", "5")]
    ganged = sheets_ganged(SPOT, pair, (), MONEY)
    assert ganged.total == alone(SPOT, pair[0]) + alone(SPOT, pair[1])
    assert len(ganged.laid) == 2


def test_wheelers_sheet_takes_five_neck_tags_free() -> None:
    """A 12 x 11 in print leaves 12 x 3.75 in after the gutter: five tags of 3.5 x 2 in."""
    tag = replace(design("neck tag", 3.5, 2, 1000), inks=frozenset())
    ganged = sheets_ganged(SPOT, [design("front", 12, 11, 56, "Pewter")], [tag], MONEY)
    (laid,) = ganged.laid
    assert ganged.total == usd("122.00")
    assert [place.design.name for place in laid.sheet.placements] == ["front"] + ["neck tag"] * 5
    assert laid.paid == 1
    assert laid.times == 56


inks = st.sampled_from([("Snow",), ("Poppy",), ("Snow", "Poppy")])


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(2, 11), st.integers(2, 14), st.integers(1, 90), inks),
        min_size=1,
        max_size=3,
    )
)
def test_sheets_together_never_cost_more_than_apart(
    wanted: list[tuple[int, int, int, tuple[str, ...]]],
) -> None:
    designs = [design(f"d{n}", w, h, q, *names) for n, (w, h, q, names) in enumerate(wanted)]
    ganged = sheets_ganged(SPOT, designs, (), MONEY)
    assert ganged.total <= sum((alone(SPOT, one) for one in designs), Decimal(0))
    assert ganged.total == sum(line.amount for line in ganged.lines)
    for one in designs:
        made = sum(laid.sheet.copies_of(one) * laid.times for laid in ganged.laid)
        assert made >= one.quantity
