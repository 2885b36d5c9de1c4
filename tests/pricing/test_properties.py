"""What must hold of every price, checked by brute force."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.check import TIE
from artcheck.domain.prices import PerArea, PerPiece, PerRoll, PerSheet, PriceList
from artcheck.domain.shop import Spares
from artcheck.errors import PriceError
from artcheck.pricing.crossover import crossover
from artcheck.pricing.purchase import Job, Money, cheapest_count, cost_curve, purchase
from artcheck.pricing.quote import pieces_with_spares, price_of
from tests.pricing.shops import SHOP

cents = st.integers(1, 2000).map(lambda n: Decimal(n) / 100)
rounding = st.sampled_from(["each piece", "each line"])


@st.composite
def ink_tables(draw: st.DrawFn) -> dict[str, object]:
    """Breaks that rise and rows that fall at each break and rise with each ink."""
    steps = draw(st.lists(st.integers(1, 40), min_size=1, max_size=4))
    breaks = tuple(sum(steps[: n + 1]) for n in range(len(steps)))
    first = sorted(draw(st.lists(cents, min_size=len(breaks), max_size=len(breaks))), reverse=True)
    rows = {ink: tuple(p * (3 + ink) / 4 for p in first) for ink in (1, 2, 3)}
    return {
        "breaks": breaks,
        "by_inks": rows,
        "setup_per_ink": draw(cents),
        "mix_per_ink": draw(cents),
    }


@st.composite
def price_lists(draw: st.DrawFn) -> PriceList:
    kind = draw(st.sampled_from(["sheet", "area", "roll", "piece"]))
    if kind == "sheet":
        table = draw(ink_tables())
        return PerSheet.model_validate(
            {"kind": "per_sheet", "sheet_in": (12, 15), "gutter_in": 0.25, **table}
            | {"fewest_sheets": table["breaks"][0]}  # type: ignore[index]
        )
    if kind == "piece":
        return PerPiece.model_validate({"kind": "per_piece", **draw(ink_tables())})
    if kind == "roll":
        return PerRoll(kind="per_roll", width_in=22, gutter_in=0.25, per_foot=draw(cents))
    return PerArea(
        kind="per_area",
        per_in2=draw(cents) / 100,
        per_piece=draw(cents),
        least_per_design=draw(cents),
    )


sizes = st.tuples(st.integers(4, 48), st.integers(4, 48)).map(lambda s: (s[0] / 4, s[1] / 4))


@settings(max_examples=60, deadline=None)
@given(price_lists(), sizes, st.integers(1, 3), rounding)
def test_the_curve_is_the_purchase_at_every_quantity(
    price: PriceList, size: tuple[float, float], inks: int, how: str
) -> None:
    money = Money("USD", how)  # type: ignore[arg-type]
    job = Job(prints=1, width_in=size[0], height_in=size[1], inks=inks, mixed=1)
    curve = cost_curve(price, job, money, 120)
    assert curve[0] == 0
    for prints in (1, 2, 3, 7, 19, 20, 21, 60, 119, 120):
        bought = purchase(price, _with(job, prints), money)
        assert money.minor(bought.total) == curve[prints]
        assert bought.total == sum(line.amount for line in bought.lines)


def _with(job: Job, prints: int) -> Job:
    return Job(
        prints=prints,
        width_in=job.width_in,
        height_in=job.height_in,
        inks=job.inks,
        mixed=job.mixed,
    )


@settings(max_examples=80, deadline=None)
@given(ink_tables(), st.integers(1, 200))
def test_no_other_number_of_sheets_is_cheaper(table: dict[str, object], needed: int) -> None:
    breaks: tuple[int, ...] = table["breaks"]  # type: ignore[assignment]
    row: tuple[Decimal, ...] = table["by_inks"][1]  # type: ignore[index]

    def total(count: int) -> Decimal:
        reached = [price for b, price in zip(breaks, row, strict=True) if b <= count]
        return count * (reached[-1] if reached else row[0])

    best = cheapest_count(needed, breaks, row)
    assert best >= needed
    assert total(best) == min(total(count) for count in range(needed, max(needed, breaks[-1]) + 2))


@settings(max_examples=60, deadline=None)
@given(price_lists(), sizes, st.integers(1, 100))
def test_an_ink_more_is_never_cheaper(
    price: PriceList, size: tuple[float, float], prints: int
) -> None:
    money = Money("USD", "each line")
    totals = [
        purchase(
            price, Job(prints=prints, width_in=size[0], height_in=size[1], inks=inks), money
        ).total
        for inks in (1, 2, 3)
    ]
    assert all(a <= b for a, b in pairwise(totals))
    assert totals[0] >= 0


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(0, 50), min_size=12, max_size=12), min_size=1, max_size=4))
def test_flips_are_brute_force(totals: list[list[int]]) -> None:
    named = {f"m{n}": row for n, row in enumerate(totals)}
    found = crossover(named)
    for quantity in range(1, 13):
        row = {name: values[quantity - 1] for name, values in named.items()}
        winners = [name for name, value in row.items() if value == min(row.values())]
        want = winners[0] if len(winners) == 1 else TIE
        (here,) = [f for f in found.flips if f.from_quantity <= quantity <= f.to_quantity]
        assert here.method == want
    assert all(a.to_quantity + 1 == b.from_quantity for a, b in pairwise(found.flips))


@given(st.integers(1, 10**6))
def test_spares(pieces: int) -> None:
    """3 % rounded up, at least one (common practice)."""
    made = pieces_with_spares(pieces, Spares(share=0.03, least=1))
    assert made - pieces == max(1, -(-3 * pieces // 100))


@given(st.decimals(min_value=0, max_value=10**6, places=2))
def test_margin_and_mark_up(cost: Decimal) -> None:
    rules = SHOP.prices
    assert price_of(cost, rules, "USD") == 2 * cost  # a margin of one half
    marked = rules.model_copy(update={"margin": None, "mark_up": Decimal(1)})
    assert price_of(cost, marked, "USD") == 2 * cost


@pytest.mark.parametrize(("width", "words"), [(21.0, "larger than the sheet"), (13.0, "larger")])
def test_too_large_for_the_sheet(width: float, words: str) -> None:
    job = Job(prints=10, width_in=width, height_in=width, inks=1)
    with pytest.raises(PriceError, match=words):
        purchase(SHOP.method("spot").price, job, Money("USD", "each piece"))


# Facts of the trade, common practice without a source: copies on an 11.25 x 14 in sheet.


@pytest.mark.parametrize(
    ("piece", "copies"), [((4.0, 4.0), 6), ((11.0, 6.0), 2), ((11.0, 11.0), 1)]
)
def test_copies_on_a_common_sheet(piece: tuple[float, float], copies: int) -> None:
    from artcheck.pricing.sheets import copies_on_sheet

    assert copies_on_sheet((11.25, 14), piece).copies == copies
