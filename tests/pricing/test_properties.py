"""What must hold of every price, checked by brute force."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.check import TIE
from artcheck.domain.prices import (
    PerArea,
    PerPiece,
    PerRoll,
    PerSheet,
    PerSize,
    PerStitch,
    PriceList,
)
from artcheck.domain.shop import Spares, Supplier
from artcheck.errors import PriceError
from artcheck.pricing.crossover import crossover
from artcheck.pricing.delivery import Delivery
from artcheck.pricing.job import Job, Money
from artcheck.pricing.purchase import cost_curve, purchase
from artcheck.pricing.quote import (
    Decoration,
    Run,
    money_of,
    pieces_with_spares,
    price_of,
    prints_by_quantity,
    prints_of,
    quote,
)
from artcheck.units import round_money
from tests.pricing.shops import SHOP

cents = st.integers(20, 2000).map(lambda n: Decimal(n) / 100)
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
def classes(draw: st.DrawFn) -> PriceList:
    steps = draw(st.lists(st.integers(1, 40), min_size=1, max_size=3))
    breaks = tuple(sum(steps[: n + 1]) for n in range(len(steps)))
    row = sorted(draw(st.lists(cents, min_size=len(breaks), max_size=len(breaks))), reverse=True)
    boxes = [("small", (4, 4), 1), ("middle", (8, 6), 2), ("large", (13, 13), 3)]
    return PerSize.model_validate(
        {
            "kind": "per_size",
            "breaks": breaks,
            "classes": [
                {"name": n, "within_in": box, "prices": [p * k for p in row]} for n, box, k in boxes
            ],
            "per_design": draw(cents),
            "least_per_design": draw(cents),
        }
    )


@st.composite
def stitches(draw: st.DrawFn) -> PriceList:
    table = draw(ink_tables())
    return PerStitch.model_validate(
        {
            "kind": "per_stitch",
            "breaks": table["breaks"],
            "per_thousand": table["by_inks"][1],  # type: ignore[index]
            "stitches_per_in2": 2000,
            "per_design": draw(cents),
        }
    )


@st.composite
def sheets(draw: st.DrawFn) -> PriceList:
    table = draw(ink_tables())
    return PerSheet.model_validate(
        {"kind": "per_sheet", "sheet_in": (12, 15), "gutter_in": 0.25, **table}
        | {"fewest_sheets": table["breaks"][0]}  # type: ignore[index]
    )


rolls = cents.map(lambda c: PerRoll(kind="per_roll", width_in=22, gutter_in=0.25, per_foot=c))
pieces = ink_tables().map(lambda t: PerPiece.model_validate({"kind": "per_piece", **t}))
areas = st.tuples(cents, cents, cents).map(
    lambda c: PerArea(
        kind="per_area",
        per_in2=c[0] / 100,
        per_piece=c[1],
        least_per_design=c[2],
        weeding_seconds_per_shape=20,
        weeding_per_hour=c[1],
    )
)
price_lists = st.one_of(sheets(), areas, rolls, classes(), pieces, stitches())

MOST_BEYOND = 510
"""Units beyond the need that brute force looks at: at 0.20 each the delivery is free by then."""

deliveries = st.builds(
    Delivery,
    freight=cents,
    free_from=st.one_of(st.none(), st.integers(1, 100).map(Decimal)),
    least_order=st.one_of(st.just(Decimal(0)), cents),
)

beyond = st.one_of(st.none(), st.integers(1, 2000).map(lambda n: Decimal(n) / 100))

sizes = st.tuples(st.integers(4, 48), st.integers(4, 48)).map(lambda s: (s[0] / 4, s[1] / 4))


def job_of(
    prints: int, size: tuple[float, float], inks: int = 1, *, different: bool = False
) -> Job:
    width, height = size
    return Job(
        prints=prints,
        width_in=width,
        height_in=height,
        inks=inks,
        mixed=1,
        each_different=different,
        shapes=9,
        ink_area_in2=width * height / 2,
    )


@settings(max_examples=80, deadline=None)
@given(price_lists, sizes, st.integers(1, 3), rounding, deliveries, st.booleans())
def test_the_curve_is_the_purchase_at_every_quantity(
    price: PriceList,
    size: tuple[float, float],
    inks: int,
    how: str,
    delivery: Delivery,
    different: bool,
) -> None:
    money = Money("USD", how)  # type: ignore[arg-type]
    curve = cost_curve(price, job_of(1, size, inks, different=different), money, 120, delivery)
    assert curve[0] == 0
    assert len(curve) == 121
    for prints in (1, 2, 3, 7, 19, 20, 21, 60, 119, 120):
        bought = purchase(price, job_of(prints, size, inks, different=different), money, delivery)
        assert money.minor(delivery.landed(bought.total)) == curve[prints]
        assert bought.total == sum(line.amount for line in bought.lines)


def sheets_bill(price: PerSheet, inks: int, sheets: int) -> Decimal:
    """What the supplier bills for exactly so many sheets, read from the list anew."""
    reached = [p for b, p in zip(price.breaks, price.by_inks[inks], strict=True) if b <= sheets]
    plates = inks * price.setup_per_ink + price.mix_per_ink
    return round_money(sheets * reached[-1], "USD") + plates


@settings(max_examples=80, deadline=None)
@given(sheets(), sizes, st.integers(1, 3), st.integers(1, 150), deliveries, beyond)
def test_no_other_number_of_sheets_is_cheaper_when_it_has_arrived(
    price: PerSheet,
    size: tuple[float, float],
    inks: int,
    prints: int,
    delivery: Delivery,
    more: Decimal | None,
) -> None:
    """Brute force over every number of sheets that could be bought, freight within."""
    if more is not None:  # free a little beyond what is needed: where buying more can pay
        plain = purchase(price, job_of(prints, size, inks), Money("USD", "each line")).total
        delivery = replace(delivery, free_from=plain + more)

    def landed(sheets: int) -> Decimal:
        goods = max(sheets_bill(price, inks, sheets), delivery.least_order)
        free = delivery.free_from is not None and goods >= delivery.free_from
        return goods if free else goods + delivery.freight

    bought = purchase(price, job_of(prints, size, inks), Money("USD", "each line"), delivery)
    assert bought.copies_per_sheet is not None
    needed = -(-prints // bought.copies_per_sheet)
    assert bought.needed == needed
    fewest = max(needed, price.fewest_sheets)
    everything = {sheets: landed(sheets) for sheets in range(fewest, fewest + MOST_BEYOND)}
    assert everything[bought.bought] == min(everything.values())
    assert bought.saving == everything[fewest] - everything[bought.bought]
    if bought.bought > needed:
        assert bought.spare_copies == bought.bought * bought.copies_per_sheet - prints
    else:
        assert bought.spare_copies == 0


@settings(max_examples=80, deadline=None)
@given(classes(), sizes, st.integers(1, 150), deliveries)
def test_no_other_number_of_prints_is_cheaper_when_it_has_arrived(
    price: PerSize, size: tuple[float, float], prints: int, delivery: Delivery
) -> None:
    money = Money("USD", "each line")
    fitting = [
        c.prices
        for c in price.classes
        if sorted(size)[0] <= min(c.within_in) and sorted(size)[1] <= max(c.within_in)
    ]
    row = min(fitting)

    def landed(count: int) -> Decimal:
        reached = [p for b, p in zip(price.breaks, row, strict=True) if b <= count]
        prints_only = max(count * (reached or row)[-1 if reached else 0], price.least_per_design)
        return delivery.landed(prints_only + price.per_design)

    bought = purchase(price, job_of(prints, size), money, delivery)
    everything = {count: landed(count) for count in range(prints, prints + MOST_BEYOND)}
    assert everything[bought.bought] == min(everything.values())
    assert bought.spare_copies == bought.bought - prints
    assert delivery.landed(bought.total) == min(everything.values())


@settings(max_examples=60, deadline=None)
@given(st.one_of(pieces, stitches()), sizes, st.integers(1, 60))
def test_no_garment_is_bought_for_a_price_break(
    price: PerPiece | PerStitch, size: tuple[float, float], prints: int
) -> None:
    """Where more pieces would cost less that is told, not done."""
    money = Money("USD", "each line")
    bought = purchase(price, job_of(prints, size), money)
    assert bought.bought == prints
    assert (bought.spare_copies, bought.saving) == (0, Decimal(0))
    totals = cost_curve(price, job_of(1, size), money, 200)
    cheaper = any(total < totals[prints] for total in totals[prints:])
    assert cheaper == any("would cost" in note for note in bought.notes)


@settings(max_examples=80, deadline=None)
@given(price_lists, sizes, st.integers(1, 3), rounding, deliveries)
def test_a_total_never_falls_with_quantity_but_at_a_break_that_is_not_bought_up_to(
    price: PriceList, size: tuple[float, float], inks: int, how: str, delivery: Delivery
) -> None:
    """Where more may be bought than is needed the next break is reached as soon as it pays, so no
    larger order costs less; printed on the garment the total falls at breaks alone."""
    most = 200
    curve = cost_curve(price, job_of(1, size, inks), Money("USD", how), most, delivery)  # type: ignore[arg-type]
    falls = {n + 1 for n, (low, high) in enumerate(pairwise(curve)) if high < low}
    if isinstance(price, PerPiece | PerStitch):
        falls -= set(price.breaks)
        if delivery.free_from is not None:  # from there on the freight is no longer paid
            free = delivery.free_from
            goods = [
                purchase(price, job_of(n, size, inks), Money("USD", how)).total  # type: ignore[arg-type]
                for n in range(1, most + 1)
            ]
            falls -= {n for n in falls if goods[n - 2] < free <= goods[n - 1]}
    assert not falls


@settings(max_examples=60, deadline=None)
@given(price_lists, sizes, st.integers(1, 60), st.integers(1, 8))
def test_a_larger_print_is_never_cheaper(
    price: PriceList, size: tuple[float, float], prints: int, quarters: int
) -> None:
    money = Money("USD", "each line")
    larger = (size[0] + quarters / 4, size[1])
    try:
        dear = purchase(price, job_of(prints, larger), money).total
    except PriceError:
        return
    assert purchase(price, job_of(prints, size), money).total <= dear


@settings(max_examples=60, deadline=None)
@given(price_lists, sizes, st.integers(1, 100))
def test_an_ink_more_is_never_cheaper(
    price: PriceList, size: tuple[float, float], prints: int
) -> None:
    money = Money("USD", "each line")
    totals = [purchase(price, job_of(prints, size, inks), money).total for inks in (1, 2, 3)]
    assert all(a <= b for a, b in pairwise(totals))
    assert totals[0] >= 0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.lists(st.integers(0, 50), min_size=70, max_size=70), min_size=1, max_size=4),
    st.booleans(),
)
def test_flips_are_brute_force(totals: list[list[int]], rising: bool) -> None:
    named = {f"m{n}": sorted(row) if rising else row for n, row in enumerate(totals)}
    found = crossover(named)
    for quantity in range(1, 71):
        row = {name: values[quantity - 1] for name, values in named.items()}
        winners = [name for name, value in row.items() if value == min(row.values())]
        want = winners[0] if len(winners) == 1 else TIE
        (here,) = [f for f in found.flips if f.from_quantity <= quantity <= f.to_quantity]
        assert here.method == want
    assert all(a.to_quantity + 1 == b.from_quantity for a, b in pairwise(found.flips))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(price_lists, sizes), min_size=1, max_size=3),
    st.integers(1, 80),
    st.decimals(min_value=0, max_value=Decimal("0.99"), places=2),
    deliveries,
    st.booleans(),
)
def test_a_quote_is_the_sum_of_its_lines_and_no_price_is_negative(
    prints: list[tuple[PriceList, tuple[float, float]]],
    pieces: int,
    margin: Decimal,
    delivery: Delivery,
    rush: bool,
) -> None:
    terms = Supplier(
        name="printer",
        freight=delivery.freight,
        free_from=delivery.free_from,
        least_order=delivery.least_order,
    )
    rules = SHOP.prices.model_copy(update={"margin": margin, "suppliers": (terms,)})
    money = money_of(rules, "USD")
    base = SHOP.method("spot")
    parts = []
    for price, size in prints:
        job = job_of(pieces_with_spares(pieces, rules.spares), size)
        method = base.model_copy(update={"price": price, "supplier": "printer"})
        parts.append(Decoration(method=method, job=job, bought=purchase(price, job, money)))
    quoted = quote(parts, Run(pieces=pieces, blank=Decimal(4), rush=rush), rules, "USD")
    assert quoted.cost == sum(line.amount for line in quoted.lines)
    assert all(line.amount >= 0 for line in quoted.lines)
    assert quoted.price_per_piece >= 0
    assert quoted.price >= quoted.cost
    goods = sum(part.bought.total for part in parts)
    assert quoted.cost <= delivery.landed(Decimal(goods)) + sum(
        line.amount for line in quoted.lines if "labour" in line.what or "blank" in line.what
    )


@given(st.integers(1, 300), st.integers(0, 5), st.integers(0, 40), st.booleans())
def test_prints_of_every_quantity(most: int, least: int, percent: int, different: bool) -> None:
    spares = Spares(share=percent / 100, least=least)
    want = [prints_of(n, spares, each_different=different) for n in range(1, most + 1)]
    assert list(prints_by_quantity(most, spares, each_different=different)) == want


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
