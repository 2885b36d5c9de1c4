"""What the decoration itself costs: one design, so many prints, bought the cheapest way.

Every price list answers two questions with the same tariff: `purchase` gives one quantity with its
lines, `cost_curve` gives the total for every quantity up to a most, in the currency's smallest unit
as whole numbers, so that flips are found exactly and fast. The cheapest is sought with the delivery
within: the next break, or the order from which the supplier pays the freight.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from operator import add

from artcheck.domain.check import CostLine
from artcheck.domain.prices import PerRoll, PerSheet, PriceList
from artcheck.pricing.delivery import FREE, Delivery
from artcheck.pricing.job import Job, Money
from artcheck.pricing.tariffs import (
    INCHES_PER_FOOT,
    Tariff,
    Unit,
    one_each,
    roll_tariff,
    sheet_tariff,
    tariff_of,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """The cheapest way to buy a job. ``needed`` and ``bought`` count units (sheets, feet ...).

    ``total`` is the goods alone. ``spare_copies`` come with what is bought beyond the need;
    ``saving`` is what buying more saves, freight within.
    """

    total: Decimal
    lines: tuple[CostLine, ...]
    unit: Unit
    needed: int
    bought: int
    copies_per_sheet: int | None = None
    spare_copies: int = 0
    saving: Decimal = Decimal(0)
    notes: tuple[str, ...] = ()


def purchase(price: PriceList, job: Job, money: Money, delivery: Delivery = FREE) -> Purchase:
    """The purchase of ``job.prints`` copies that costs least when it has arrived.

    Raises
    ------
    PriceError
        The list cannot price it: too large for the sheet, or more inks than it knows.
    """
    tariff = tariff_of(price, job, money)
    return _bought(tariff, job.prints, money, delivery, each_different=job.each_different)


def sheet_run(price: PerSheet, sheets: int, inks: int, mixed: int, money: Money) -> Purchase:
    """At least so many sheets of one layout at the cheapest, its plates and mixed inks within.

    ``inks`` counts every plate, the underbase too where it is one.

    Raises
    ------
    PriceError
        More inks than the list prices.
    """
    return _bought(sheet_tariff(price, 1, inks, mixed), sheets, money)


def roll_run(price: PerRoll, length_in: float, money: Money) -> Purchase:
    """A length of roll with the gutter after it, as rows of one piece have theirs: begun feet."""
    whole = Decimal(repr(length_in)) + Decimal(str(price.gutter_in))
    return _bought(roll_tariff(price, lambda _: math.ceil(whole / INCHES_PER_FOOT)), 1, money)


# --- the cheapest number of units ---------------------------------------------------------------


def _bought(
    tariff: Tariff,
    prints: int,
    money: Money,
    delivery: Delivery = FREE,
    *,
    each_different: bool = False,
) -> Purchase:
    apart = each_different and tariff.runs_apart
    designs, one_run = (prints if each_different else 1), (1 if apart else prints)
    needed = tariff.units_of(one_run)
    units = _units_to_buy(tariff, needed, money, delivery, each_different=each_different)
    bills = [tariff.billed(n, designs, money) for n in (needed, units)]
    plain, best = (delivery.landed(bill) for bill in bills)
    runs = designs if apart else 1
    spare = _spare_copies(tariff, one_run, units) * runs
    return Purchase(
        total=bills[1],
        lines=tariff.lines(units, designs, money),
        unit=tariff.unit,
        needed=_least_units(tariff, one_run) * runs,
        bought=units * runs,
        copies_per_sheet=tariff.copies,
        spare_copies=spare,
        saving=plain - best,
        notes=(
            *_saving_notes(tariff, needed, units, money, delivery),
            *_spare_notes(tariff, spare),
            *(() if each_different else _garment_notes(tariff, needed, money)),
            *tariff.notes,
        ),
    )


def _units_to_buy(
    tariff: Tariff, needed: int, money: Money, delivery: Delivery, *, each_different: bool
) -> int:
    """Spare copies of a name are wanted by nobody, nor is a garment that nobody ordered."""
    if not tariff.surplus or (each_different and not tariff.runs_apart):
        return needed
    return cheapest_units(tariff, needed, money, FREE if each_different else delivery)


def cheapest_units(tariff: Tariff, needed: int, money: Money, delivery: Delivery = FREE) -> int:
    """How many to buy when ``needed`` are needed: that many, or more where that costs less.

    The smallest count wins among equals. Nothing else can be cheaper: between two breaks the bill
    rises with the count, so the least landed cost lies at the start of a stretch or where the
    delivery becomes free.
    """
    counts = dict.fromkeys(_candidates(tariff, needed, money, delivery))
    return min(counts, key=lambda n: (delivery.landed(tariff.billed(n, 1, money)), n))


def _candidates(tariff: Tariff, needed: int, money: Money, delivery: Delivery) -> Iterator[int]:
    starts = [needed, *(b for b in tariff.breaks if b > needed)]
    yield from starts
    if delivery.free_from is None or not delivery.freight:
        return
    for first, after in zip(starts, [*starts[1:], None], strict=True):
        free = _first_billed(tariff, first, after, delivery.free_from, money)
        if free is not None:
            yield free


def _first_billed(
    tariff: Tariff, first: int, after: int | None, amount: Decimal, money: Money
) -> int | None:
    """The fewest units of one stretch that cost an amount; None where no number does."""
    if not tariff.each(first):
        return None
    last = _enough(tariff, first, amount) if after is None else after - 1
    if tariff.billed(last, 1, money) < amount:
        return None
    low, high = first, last
    while low < high:
        middle = (low + high) // 2
        if tariff.billed(middle, 1, money) < amount:
            low = middle + 1
        else:
            high = middle
    return low


def _enough(tariff: Tariff, first: int, amount: Decimal) -> int:
    """Units that surely cost an amount."""
    return max(first, int(amount / tariff.each(first)) + 1)


# --- every quantity at once ---------------------------------------------------------------------


def cost_curve(
    price: PriceList, job: Job, money: Money, most: int, delivery: Delivery = FREE
) -> list[int]:
    """Landed totals for 0, 1 ... ``most`` prints in the smallest unit (``[0]`` is 0).

    ``job.prints`` is ignored. Equal to `purchase` with its delivery at every quantity (a property
    test holds it).

    Raises
    ------
    PriceError
        As `purchase`.
    """
    tariff = tariff_of(price, job, money)
    if job.each_different and tariff.runs_apart:
        return [0, *_landed(_runs_apart(tariff, money, most), money, delivery)]
    prints = range(1, most + 1)
    units = prints if tariff.units_of is one_each else list(map(tariff.units_of, prints))
    surplus = tariff.surplus and not job.each_different
    last = max(units[-1], tariff.breaks[-1] if surplus else 0)
    goods = tariff.unit_curve(last, money)
    if job.each_different:
        fixed_for = tariff.fixed_curve(most, money)
        goods = list(map(add, _at(goods, units), fixed_for))
        return [0, *_landed(goods, money, delivery)]
    fixed = tariff.fixed_minor(1, money)
    totals = _landed([amount + fixed for amount in goods], money, delivery)
    if surplus:
        _fill_back(totals, tariff, money, delivery)
    return [0, *_at(totals, units)]


def _at(totals: list[int], units: Sequence[int]) -> list[int]:
    """The totals of these units."""
    if isinstance(units, range):
        return totals[units.start : units.stop]
    return list(map(totals.__getitem__, units))


def _runs_apart(tariff: Tariff, money: Money, most: int) -> list[int]:
    """1 ... ``most`` designs, each bought as a run of its own."""
    units = (
        cheapest_units(tariff, tariff.units_of(1), money) if tariff.surplus else tariff.units_of(1)
    )
    times, least = money.multiples(tariff.each(units)), money.minor(tariff.least)
    fixed_for = enumerate(tariff.fixed_curve(most, money), 1)
    return [max(times(units * n), least * n) + fixed for n, fixed in fixed_for]


def _fill_back(totals: list[int], tariff: Tariff, money: Money, delivery: Delivery) -> None:
    """Replace each total by the least of it and all behind it, in place."""
    if len(tariff.breaks) == 1 and delivery.free_from is None:
        return
    last = len(totals) - 1
    beyond = cheapest_units(tariff, last, money, delivery)
    least = money.minor(delivery.landed(tariff.billed(beyond, 1, money)))
    for n in range(last, -1, -1):
        least = totals[n] = min(totals[n], least)


def _landed(goods: list[int], money: Money, delivery: Delivery) -> list[int]:
    """Every bill with the least order and the freight."""
    if delivery == FREE:
        return goods
    freight, least = money.minor(delivery.freight), money.minor(delivery.least_order)
    free = None if delivery.free_from is None else money.minor(delivery.free_from)
    billed = [max(amount, least) for amount in goods] if least else goods
    if free is None:
        return [amount + freight for amount in billed]
    return [amount if amount >= free else amount + freight for amount in billed]


# --- words --------------------------------------------------------------------------------------


def _least_units(tariff: Tariff, prints: int) -> int:
    """Units that hold the prints, whatever the fewest that may be bought."""
    return -(-prints // tariff.copies) if tariff.copies else tariff.units_of(prints)


def _spare_copies(tariff: Tariff, prints: int, units: int) -> int:
    """Copies that come with units beyond the need; a begun foot's room is not counted."""
    if tariff.copies is not None:
        more = units > _least_units(tariff, prints)
        return units * tariff.copies - prints if more else 0
    return units - prints if tariff.unit == "prints" else 0


def _saving_notes(
    tariff: Tariff, needed: int, units: int, money: Money, delivery: Delivery
) -> Iterator[str]:
    if units == needed:
        return
    bills = [tariff.billed(n, 1, money) for n in (needed, units)]
    saving = delivery.landed(bills[0]) - delivery.landed(bills[1])
    if delivery.charged(bills[1]) < delivery.charged(bills[0]):
        yield (
            f"{units} {tariff.unit} come without freight and {needed} do not:"
            f" buy {units}, save {saving}"
        )
        return
    plain, cheap = (tariff.lines(n, 1, money)[0].amount for n in (needed, units))
    bills_words = f"{units} {tariff.unit} cost {cheap} and {needed} cost {plain}"
    yield f"{bills_words}: buy {units}, save {saving}"


def _spare_notes(tariff: Tariff, spare: int) -> Iterator[str]:
    if spare > 0:
        yield f"{spare} spare transfers come with the {tariff.unit}, good for a reorder"


def _garment_notes(tariff: Tariff, needed: int, money: Money) -> Iterator[str]:
    """Where each print needs a garment no more is bought; that more would cost less is told."""
    if tariff.surplus:
        return
    counts = (needed, *(b for b in tariff.breaks if b > needed))
    more = min(counts, key=lambda n: (tariff.billed(n, 1, money), n))
    if more > needed:
        goods = tariff.lines(more, 1, money)[0].amount
        yield f"{more} pieces would cost {goods} to print, less than {needed} do"
