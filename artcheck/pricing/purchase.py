"""What the decoration itself costs: one design, so many prints, bought the cheapest way.

Every price structure answers two questions with the same arithmetic: `purchase` gives one quantity
with its lines, `cost_curve` gives the total for every quantity up to a most, in the currency's
smallest unit as whole numbers, so that flips are found exactly and fast.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import Literal, assert_never

from artcheck.domain.check import CostLine
from artcheck.domain.prices import PerArea, PerPiece, PerRoll, PerSheet, PriceList
from artcheck.errors import PriceError
from artcheck.pricing.sheets import copies_on_sheet
from artcheck.units import minor_digits, round_money

Rounding = Literal["each piece", "each line"]

SIZE_STEP_IN = Decimal("0.005")
"""Printed sizes are priced and laid out in steps of 1/200 in: it holds every eighth of an inch, and
a pixel more or less in the file does not decide whether a print fits."""

INCHES_PER_FOOT = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One design to be bought.

    ``prints`` counts copies, spares included. ``inks`` counts plates without the underbase,
    ``mixed`` those that are mixed to order. ``each_different`` says that every copy is a design of
    its own (names, numbers).
    """

    prints: int
    width_in: float
    height_in: float
    inks: int
    mixed: int = 0
    underbase: bool = False
    each_different: bool = False

    @property
    def size_in(self) -> tuple[Decimal, Decimal]:
        """(width, height) in steps of `SIZE_STEP_IN`."""
        return _stepped(self.width_in), _stepped(self.height_in)


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """The cheapest way found to buy a job. ``needed`` and ``bought`` count sheets or feet."""

    total: Decimal
    lines: tuple[CostLine, ...]
    copies_per_sheet: int | None = None
    needed: int | None = None
    bought: int | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Money:
    """How this shop rounds."""

    currency: str
    rounding: Rounding

    def piece(self, amount: Decimal) -> Decimal:
        """A piece's price as it is multiplied: rounded first where the shop does so."""
        return round_money(amount, self.currency) if self.rounding == "each piece" else amount

    def line(self, what: str, quantity: Decimal | int, unit_amount: Decimal) -> CostLine:
        """Quantity times unit amount, rounded once."""
        count = Decimal(quantity)
        amount = round_money(count * unit_amount, self.currency)
        return CostLine(what=what, quantity=count, unit_amount=unit_amount, amount=amount)

    def minor(self, amount: Decimal) -> int:
        """The amount in the currency's smallest unit, rounded half up."""
        scaled = amount.scaleb(minor_digits(self.currency))
        return int(scaled.to_integral_value(rounding=ROUND_HALF_UP))


def purchase(price: PriceList, job: Job, money: Money) -> Purchase:
    """The cheapest purchase of ``job.prints`` copies.

    Raises
    ------
    PriceError
        The list cannot price it: too large for the sheet, or more inks than it knows.
    """
    match price:
        case PerSheet():
            return _sheets(price, job, money)
        case PerArea():
            return _area(price, job, money)
        case PerRoll():
            return _roll(price, job, money)
        case PerPiece():
            return _pieces(price, job, money)
        case _:
            assert_never(price)


def cost_curve(price: PriceList, job: Job, money: Money, most: int) -> list[int]:
    """Totals for 0, 1 ... ``most`` prints in the smallest unit (index = prints; ``[0]`` is 0).

    ``job.prints`` is ignored. Equal to `purchase` at every quantity (a property test holds it).

    Raises
    ------
    PriceError
        As `purchase`.
    """
    match price:
        case PerSheet():
            return _sheets_curve(price, job, money, most)
        case PerArea():
            return _area_curve(price, job, money, most)
        case PerRoll():
            return _roll_curve(price, job, money, most)
        case PerPiece():
            return _pieces_curve(price, job, money, most)
        case _:
            assert_never(price)


# --- by the sheet -------------------------------------------------------------------------------


def _sheets(price: PerSheet, job: Job, money: Money) -> Purchase:
    copies, row = _copies(price, job), _row(price, job)
    designs, prints = (job.prints, 1) if job.each_different else (1, job.prints)
    run = sheet_run(price, -(-prints // copies), _inks_of(price, job), job.mixed, money, designs)
    assert run.needed is not None
    assert run.bought is not None
    needed, bought = max(run.needed, price.fewest_sheets), run.bought
    return replace(
        run,
        copies_per_sheet=copies,
        needed=run.needed * designs,
        bought=bought * designs,
        notes=tuple(_sheet_notes(price, prints, copies, needed, bought, row, money)),
    )


def sheet_run(
    price: PerSheet, sheets: int, inks: int, mixed: int, money: Money, designs: int = 1
) -> Purchase:
    """At least so many sheets of one layout at the cheapest, its plates and mixed inks within.

    ``inks`` counts every plate, the underbase too where it is one. ``designs`` runs alike are
    bought together, each with its own plates; ``needed`` and ``bought`` are those of one run.

    Raises
    ------
    PriceError
        More inks than the list prices.
    """
    row = _row_for(price, inks)
    bought = cheapest_count(max(sheets, price.fewest_sheets), price.breaks, row)
    unit = _unit(bought, price.breaks, row)
    lines = (
        money.line(_sheet_words(price, inks), bought * designs, unit),
        *_setup_lines(price, inks, mixed, designs, money),
    )
    total = sum((line.amount for line in lines), Decimal(0))
    return Purchase(total=total, lines=lines, needed=sheets, bought=bought)


def _sheets_curve(price: PerSheet, job: Job, money: Money, most: int) -> list[int]:
    copies, row, inks = _copies(price, job), _row(price, job), _inks_of(price, job)
    fixed = sum(money.minor(line.amount) for line in _setup_lines(price, inks, job.mixed, 1, money))
    if job.each_different:
        one = _best_by_count(price.fewest_sheets, price.fewest_sheets, price.breaks, row, money)
        return [n * (one[0] + fixed) for n in range(most + 1)]
    start = price.fewest_sheets
    last = max(-(-most // copies), start)
    best = _best_by_count(start, last, price.breaks, row, money)
    by_sheets = [best[0]] * (start - 1) + best
    return [0, *(total + fixed for total in by_sheets for _ in range(copies))][: most + 1]


def _copies(price: PerSheet, job: Job) -> int:
    layout = copies_on_sheet(
        price.sheet_in,
        job.size_in,
        gutter=price.gutter_in,
        margin=price.margin_in,
        rotate=price.rotate,
    )
    if layout.copies == 0:
        raise PriceError(_too_large(price, job))
    return layout.copies


def _too_large(price: PerSheet, job: Job) -> str:
    width, height = job.size_in
    room = [float(side) - 2 * price.margin_in for side in price.sheet_in]
    ways = [room, room[::-1]] if price.rotate else [room]
    widest = max(min(a, b * float(width / height)) for a, b in ways)
    return (
        f"A print of {width} x {height} in is larger than the sheet of"
        f" {_sheet_size(price)} in. Print it at most {math.floor(widest * 100) / 100:.2f} in wide."
    )


def cheapest_count(needed: int, breaks: tuple[int, ...], row: tuple[Decimal, ...]) -> int:
    """How many to buy when ``needed`` are needed: that many, or up to a break that costs less.

    The smallest count wins among equals. No other count can be cheaper: between two breaks the
    total rises with the count.
    """
    counts = [needed, *(b for b in breaks if b > needed)]
    return min(counts, key=lambda count: (count * _unit(count, breaks, row), count))


def _best_by_count(
    first: int, last: int, breaks: tuple[int, ...], row: tuple[Decimal, ...], money: Money
) -> list[int]:
    """Cheapest total in the smallest unit for needing ``first`` ... ``last``."""
    totals: list[int] = []
    for counts, unit in _stretches(first, last, breaks, row):
        plain = _multiples(unit, money, counts)
        ceilings = [money.minor(b * _unit(b, breaks, row)) for b in breaks if b > counts[0]]
        most = min(ceilings, default=plain[-1])
        totals += [min(total, most) for total in plain]
    return totals


def _stretches(
    first: int, last: int, breaks: tuple[int, ...], row: tuple[Decimal, ...]
) -> Iterator[tuple[range, Decimal]]:
    """Counts from ``first`` to ``last``, cut where the price each changes."""
    edges = [first, *(b for b in breaks if first < b <= last), last + 1]
    for start, end in pairwise(edges):
        if start < end:
            yield range(start, end), _unit(start, breaks, row)


def _unit(count: int, breaks: tuple[int, ...], row: tuple[Decimal, ...]) -> Decimal:
    """The price each when ``count`` are bought (never below the first break)."""
    reached = sum(1 for b in breaks if b <= count)
    return row[max(reached, 1) - 1]


def _sheet_notes(
    price: PerSheet,
    prints: int,
    copies: int,
    needed: int,
    bought: int,
    row: tuple[Decimal, ...],
    money: Money,
) -> list[str]:
    notes = []
    if bought > needed:
        plain = round_money(needed * _unit(needed, price.breaks, row), money.currency)
        cheap = round_money(bought * _unit(bought, price.breaks, row), money.currency)
        notes.append(
            f"{bought} sheets cost {cheap} and {needed} cost {plain}: buy {bought}, "
            f"save {plain - cheap}"
        )
    surplus = bought * copies - prints
    if surplus > 0 and (bought > -(-prints // copies)):
        notes.append(f"{surplus} spare transfers come with the sheets, good for a reorder")
    return notes


def _sheet_size(price: PerSheet) -> str:
    return " x ".join(f"{side:g}" for side in price.sheet_in)


def _sheet_words(price: PerSheet, inks: int) -> str:
    return f"sheets {_sheet_size(price)} in, {inks} {'ink' if inks == 1 else 'inks'}"


# --- by the area --------------------------------------------------------------------------------


def _area(price: PerArea, job: Job, money: Money) -> Purchase:
    each = _area_each(price, job, money)
    width, height = job.size_in
    line = money.line(f"prints of {width} x {height} in", job.prints, each)
    if line.amount < price.least_per_design:
        line = money.line("least charge for a design", 1, price.least_per_design)
    return Purchase(total=line.amount, lines=(line,))


def _area_curve(price: PerArea, job: Job, money: Money, most: int) -> list[int]:
    plain = _multiples(_area_each(price, job, money), money, range(1, most + 1))
    least = money.minor(price.least_per_design)
    under = bisect_left(plain, least)
    return [0, *[least] * under, *plain[under:]]


def _area_each(price: PerArea, job: Job, money: Money) -> Decimal:
    width, height = job.size_in
    if price.widest_in is not None and min(width, height) > Decimal(str(price.widest_in)):
        raise PriceError(
            f"A print of {width} x {height} in is wider than the film of {price.widest_in:g} in."
            f" Print it at most {price.widest_in:g} in on its shorter side."
        )
    return money.piece(max(width * height * price.per_in2 + price.per_piece, price.least_per_piece))


# --- by the roll --------------------------------------------------------------------------------


def _roll(price: PerRoll, job: Job, money: Money) -> Purchase:
    across, length = _rows(price, job, job.prints)
    feet = _feet(price, -(-job.prints // across), length)
    return _feet_bought(price, feet, f", {across} across", money)


def roll_run(price: PerRoll, length_in: float, money: Money) -> Purchase:
    """A length of roll with the gutter after it, as rows of one piece have theirs: begun feet."""
    whole = Decimal(repr(length_in)) + Decimal(str(price.gutter_in))
    return _feet_bought(price, _feet(price, 1, whole), "", money)


def _feet_bought(price: PerRoll, feet: int, words: str, money: Money) -> Purchase:
    line = money.line(f"feet of {price.width_in:g} in roll{words}", feet, price.per_foot)
    return Purchase(total=line.amount, lines=(line,), needed=feet, bought=feet)


def _roll_curve(price: PerRoll, job: Job, money: Money, most: int) -> list[int]:
    feet = [_feet_curve(price, across, length, most) for across, length in _ways(price, job)]
    fewest = [min(row) for row in zip(*feet, strict=True)]
    by_feet = _multiples(price.per_foot, money, range(max(fewest, default=0) + 1))
    return [0, *(by_feet[length] for length in fewest)]


def _feet_curve(price: PerRoll, across: int, length_in: Decimal, most: int) -> list[int]:
    """Feet for 1, 2 ... ``most`` prints; `_feet` in whole numbers."""
    up, down = length_in.as_integer_ratio()
    down *= INCHES_PER_FOOT
    rows = range(1, -(-most // across) + 1)
    by_rows = [max(-(-row * up // down), price.fewest_feet) for row in rows]
    return [feet for feet in by_rows for _ in range(across)][:most]


def _ways(price: PerRoll, job: Job) -> list[tuple[int, Decimal]]:
    """(copies across, length of a row with its gutter) for each way the piece can lie."""
    width, height = job.size_in
    gutter, roll = Decimal(str(price.gutter_in)), Decimal(str(price.width_in))
    turned = [(height, width)] if price.rotate and width != height else []
    ways = [
        (int((roll + gutter) / (w + gutter)), h + gutter)
        for w, h in [(width, height), *turned]
        if w <= roll
    ]
    if not ways:
        raise PriceError(
            f"A print of {width} x {height} in is wider than the roll of {price.width_in:g} in."
            f" Print it at most {price.width_in:g} in on its shorter side."
        )
    return ways


def _rows(price: PerRoll, job: Job, prints: int) -> tuple[int, Decimal]:
    return min(_ways(price, job), key=lambda way: _feet(price, -(-prints // way[0]), way[1]))


def _feet(price: PerRoll, rows: int, length_in: Decimal) -> int:
    return max(math.ceil(rows * length_in / INCHES_PER_FOOT), price.fewest_feet)


# --- by the piece -------------------------------------------------------------------------------


def _pieces(price: PerPiece, job: Job, money: Money) -> Purchase:
    _fits_platen(price, job)
    row, inks = _row(price, job), _inks_of(price, job)
    designs, prints = (job.prints, 1) if job.each_different else (1, job.prints)
    charged = max(prints, price.fewest_pieces)
    lines = (
        money.line(f"printing, {inks} inks", charged * designs, _unit(charged, price.breaks, row)),
        *_setup_lines(price, inks, job.mixed, designs, money),
    )
    total = sum((line.amount for line in lines), Decimal(0))
    return Purchase(total=total, lines=lines, notes=tuple(_piece_notes(price, charged, row, money)))


def _pieces_curve(price: PerPiece, job: Job, money: Money, most: int) -> list[int]:
    """Garments cannot be bought up to a break: each print needs one, so totals may fall."""
    _fits_platen(price, job)
    row, inks = _row(price, job), _inks_of(price, job)
    fixed = sum(money.minor(line.amount) for line in _setup_lines(price, inks, job.mixed, 1, money))
    fewest = price.fewest_pieces
    totals = [
        total + fixed
        for counts, unit in _stretches(fewest, max(most, fewest), price.breaks, row)
        for total in _multiples(unit, money, counts)
    ]
    if job.each_different:
        return [n * totals[0] for n in range(most + 1)]
    return [0, *[totals[0]] * (fewest - 1), *totals][: most + 1]


def _piece_notes(
    price: PerPiece, charged: int, row: tuple[Decimal, ...], money: Money
) -> list[str]:
    better = cheapest_count(charged, price.breaks, row)
    if better == charged:
        return []
    cost = round_money(better * _unit(better, price.breaks, row), money.currency)
    return [f"{better} pieces would cost {cost} to print, less than {charged} do"]


def _fits_platen(price: PerPiece, job: Job) -> None:
    width, height = job.size_in
    for side, most, words in ((width, price.widest_in, "wide"), (height, price.tallest_in, "tall")):
        if most is not None and side > Decimal(str(most)):
            raise PriceError(
                f"A print of {width} x {height} in does not fit the platen."
                f" Print it at most {most:g} in {words}."
            )


# --- shared -------------------------------------------------------------------------------------


def _inks_of(price: PerSheet | PerPiece, job: Job) -> int:
    return job.inks + (1 if job.underbase and price.underbase_is_an_ink else 0)


def _row(price: PerSheet | PerPiece, job: Job) -> tuple[Decimal, ...]:
    return _row_for(price, _inks_of(price, job))


def _row_for(price: PerSheet | PerPiece, inks: int) -> tuple[Decimal, ...]:
    if inks not in price.by_inks:
        raise PriceError(
            f"The price list knows 1 to {price.most_inks} inks, this print has {inks}."
            " Reduce the inks or choose another method."
        )
    return price.by_inks[inks]


def _setup_lines(
    price: PerSheet | PerPiece, inks: int, mixed: int, designs: int, money: Money
) -> tuple[CostLine, ...]:
    lines = []
    if price.setup_per_ink:
        lines.append(money.line("set-up per ink", inks * designs, price.setup_per_ink))
    if mixed and price.mix_per_ink:
        lines.append(money.line("inks mixed to order", mixed * designs, price.mix_per_ink))
    return tuple(lines)


def _multiples(each: Decimal, money: Money, counts: range) -> list[int]:
    """Each count times ``each`` in whole numbers, rounded half up to the smallest unit."""
    numerator, denominator = each.scaleb(minor_digits(money.currency)).as_integer_ratio()
    if denominator == 1:
        return [n * numerator for n in counts]
    return [(2 * n * numerator + denominator) // (2 * denominator) for n in counts]


def _stepped(length_in: float) -> Decimal:
    steps = (Decimal(repr(length_in)) / SIZE_STEP_IN).to_integral_value(rounding=ROUND_HALF_UP)
    size = max(steps, Decimal(1)) * SIZE_STEP_IN
    whole = size.to_integral_value()
    return whole if size == whole else size.normalize()  # normalising a whole 10 gives 1E+1
