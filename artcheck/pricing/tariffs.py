"""Each price list turned into one shape: so many units at a price that falls at breaks.

A unit is what the supplier counts: a sheet, a foot, a print, a garment printed on.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from operator import add
from typing import Literal, assert_never

from artcheck.domain.check import CostLine
from artcheck.domain.prices import (
    PerArea,
    PerPiece,
    PerRoll,
    PerSheet,
    PerSize,
    PerStitch,
    PriceList,
)
from artcheck.errors import PriceError
from artcheck.pricing.job import Job, Money
from artcheck.pricing.sheets import copies_on_sheet

Unit = Literal["sheets", "feet", "prints", "pieces"]

INCHES_PER_FOOT = 12
SECONDS_PER_HOUR = 3600
STITCHES_PRICED = 1000
"""Stitches are priced by the thousand."""

_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """What each design pays once: ``count`` times ``amount``."""

    words: str
    count: int
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Tariff:
    """A price list, read for one job.

    ``units_of`` gives the units that hold so many prints. ``row`` holds the price of a unit from
    each of ``breaks`` on; ``least`` is the least charge. ``runs_apart``: designs that differ are
    runs of their own, each with its units and its least. ``surplus`` says whether more may be
    bought than is needed: transfers keep, a garment that nobody ordered does not.
    """

    unit: Unit
    words: str
    units_of: Callable[[int], int]
    breaks: tuple[int, ...]
    row: tuple[Decimal, ...]
    least: Decimal = _NOTHING
    fixed: tuple[Fixed, ...] = ()
    copies: int | None = None
    runs_apart: bool = False
    surplus: bool = True
    notes: tuple[str, ...] = ()
    how: str = ""

    def each(self, units: int) -> Decimal:
        """The price of a unit when so many are bought (below the first break: the first's)."""
        return self.row[max(bisect_right(self.breaks, units), 1) - 1]

    def lines(self, units: int, designs: int, money: Money) -> tuple[CostLine, ...]:
        """The bill for so many units, of each design where they are runs apart."""
        runs = designs if self.runs_apart else 1
        line = money.line(self.words, units * runs, self.each(units), self._how(units))
        if line.amount < self.least * runs:
            how = f"{units * runs} x {self.each(units):f} would be {line.amount:f}"
            line = money.line("least charge for a design", runs, self.least, how)
        fixed = (money.line(f.words, f.count * designs, f.amount) for f in self.fixed)
        return (line, *fixed)

    def billed(self, units: int, designs: int, money: Money) -> Decimal:
        """The sum of `lines`."""
        return sum((line.amount for line in self.lines(units, designs, money)), _NOTHING)

    def _how(self, units: int) -> str:
        """Where the price of a unit comes from, when so many are bought."""
        if len(self.breaks) == 1:
            return self.how
        reached = self.breaks[max(bisect_right(self.breaks, units), 1) - 1]
        words = f"the price from {reached} {self.unit} on"
        return f"{self.how}; {words}" if self.how else words

    def unit_curve(self, last: int, money: Money) -> list[int]:
        """The first of `lines` for 0 ... ``last`` units of one run, in the smallest unit."""
        least = money.minor(self.least)
        starts = (0, *self.breaks[1:], last + 1)
        totals: list[int] = []
        for (first, end), price in zip(itertools.pairwise(starts), self.row, strict=True):
            bills = money.all_multiples(price, range(first, min(end, last + 1)))
            totals += [max(bill, least) for bill in bills] if least else bills
        return totals

    def fixed_minor(self, designs: int, money: Money) -> int:
        """What so many designs pay once, in the smallest unit of money."""
        return sum(money.multiples(f.amount)(f.count * designs) for f in self.fixed)

    def fixed_curve(self, most: int, money: Money) -> list[int]:
        """`fixed_minor` for 1 ... ``most`` designs."""
        totals = [0] * most
        for fixed in self.fixed:
            counts = range(fixed.count, fixed.count * most + 1, fixed.count)
            amounts = money.all_multiples(fixed.amount, counts)
            totals = list(map(add, totals, amounts))
        return totals


def tariff_of(price: PriceList, job: Job, money: Money) -> Tariff:
    """The price list for this job.

    Raises
    ------
    PriceError
        The list cannot price it: too large for the sheet, or more inks than it knows.
    """
    match price:
        case PerSheet():
            return _sheets(price, job)
        case PerArea():
            return _area(price, job, money)
        case PerRoll():
            return _roll(price, job)
        case PerSize():
            return _size(price, job, money)
        case PerPiece():
            return _pieces(price, job)
        case PerStitch():
            return _stitches(price, job, money)
        case _:
            assert_never(price)


def sheet_tariff(price: PerSheet, copies: int, inks: int, mixed: int) -> Tariff:
    """Sheets of one layout with so many copies and plates (an underbase that counts within).

    Raises
    ------
    PriceError
        More inks than the list prices.
    """
    size = " x ".join(f"{side:g}" for side in price.sheet_in)
    return Tariff(
        unit="sheets",
        words=f"sheets {size} in, {inks} {'ink' if inks == 1 else 'inks'}",
        units_of=lambda prints: max(-(-prints // copies), price.fewest_sheets),
        breaks=price.breaks,
        row=_ink_row(price, inks),
        fixed=_setups(price, inks, mixed),
        copies=copies,
        runs_apart=True,
    )


def roll_tariff(price: PerRoll, feet_of: Callable[[int], int], words: str = "") -> Tariff:
    """Begun feet of a roll."""
    return Tariff(
        unit="feet",
        words=f"feet of {price.width_in:g} in roll{words}",
        units_of=lambda prints: max(feet_of(prints), price.fewest_feet),
        breaks=(1,),
        row=(price.per_foot,),
    )


def one_each(prints: int) -> int:
    """A unit is a print."""
    return prints


# --- transfers ----------------------------------------------------------------------------------


def _sheets(price: PerSheet, job: Job) -> Tariff:
    width, height = job.size_in
    layout = copies_on_sheet(
        price.sheet_in,
        (width, height),
        gutter=price.gutter_in,
        margin=price.margin_in,
        rotate=price.rotate,
    )
    if layout.copies == 0:
        room = tuple(
            Decimal(str(side)) - 2 * Decimal(str(price.margin_in)) for side in price.sheet_in
        )
        size = " x ".join(f"{side:g}" for side in price.sheet_in)
        boxes = [room, room[::-1]] if price.rotate else [room]
        raise _too_large(job, f"is larger than the sheet of {size} in", boxes)
    return sheet_tariff(price, layout.copies, _inks_of(price, job), job.mixed)


def _area(price: PerArea, job: Job, money: Money) -> Tariff:
    width, height = job.size_in
    if price.widest_in is not None and min(width, height) > Decimal(str(price.widest_in)):
        raise _wider(job, f"the film of {price.widest_in:g} in", price.widest_in)
    weeding, notes = _weeding(price, job)
    exact = width * height * price.per_in2 + price.per_piece + weeding
    each = money.piece(max(exact, price.least_per_piece))
    return Tariff(
        unit="prints",
        words=f"prints of {job.size_words}",
        units_of=one_each,
        breaks=(1,),
        row=(each,),
        least=price.least_per_design,
        notes=notes,
        how=_area_words(price, job, weeding, exact, each),
    )


def _area_words(price: PerArea, job: Job, weeding: Decimal, exact: Decimal, each: Decimal) -> str:
    """The price of one print, reckoned out."""
    width, height = job.size_in
    sums = [f"{width:f} x {height:f} in at {price.per_in2:f}"]
    sums += [f"{price.per_piece:f} a piece"] if price.per_piece else []
    sums += [f"{weeding:.4f} weeding of {job.shapes} shapes"] if weeding else []
    words = f"{' + '.join(sums)} = {exact.normalize():f}"
    if exact < price.least_per_piece:
        return f"{words}, the least is {price.least_per_piece:f}"
    return words if each == exact else f"{words}, rounded to {each:f}"


def _weeding(price: PerArea, job: Job) -> tuple[Decimal, tuple[str, ...]]:
    """What picking out one print's waste costs, by its shapes."""
    if not price.weeding_seconds_per_shape:
        return _NOTHING, ()
    if job.shapes is None:
        return _NOTHING, ("the shapes of this art are not counted: weeding is not in the price",)
    seconds = Decimal(str(price.weeding_seconds_per_shape)) * job.shapes
    return seconds * price.weeding_per_hour / SECONDS_PER_HOUR, ()


def _roll(price: PerRoll, job: Job) -> Tariff:
    ways = [(across, Fraction(row) / INCHES_PER_FOOT) for across, row in _ways(price, job)]
    across, _ = min(ways, key=lambda way: _begun(-(-job.prints // way[0]), way[1]))
    return roll_tariff(
        price,
        lambda prints: min(_begun(-(-prints // across), foot) for across, foot in ways),
        f", {across} across",
    )


def _begun(count: int, length: Fraction) -> int:
    """Whole units of ``count`` lengths, the begun one within."""
    return -(-count * length.numerator // length.denominator)


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
        words = f"the roll of {price.width_in:g} in"
        raise _wider(job, words, price.width_in, rotate=price.rotate)
    return ways


def _size(price: PerSize, job: Job, money: Money) -> Tariff:
    fitting = [
        entry
        for entry in price.classes
        if any(_inside(job, box) for box in _turned(entry.within_in))
    ]
    if not fitting:
        largest = max(price.classes, key=lambda entry: entry.within_in[0] * entry.within_in[1])
        boxes = [_exact(box) for entry in price.classes for box in _turned(entry.within_in)]
        words = " x ".join(f"{side:g}" for side in largest.within_in)
        raise _too_large(job, f"is larger than the largest size class, {words} in", boxes)
    entry = min(fitting, key=lambda entry: entry.prices)
    return Tariff(
        unit="prints",
        words=f"prints of {job.size_words}, size '{entry.name}'",
        units_of=lambda prints: max(prints, price.fewest_prints),
        breaks=price.breaks,
        row=tuple(money.piece(each) for each in entry.prices),
        least=price.least_per_design,
        fixed=_per_design(price.per_design),
    )


# --- on the garment: no surplus -----------------------------------------------------------------


def _pieces(price: PerPiece, job: Job) -> Tariff:
    _fits_platen(price, job)
    inks = _inks_of(price, job)
    return Tariff(
        unit="pieces",
        words=f"printing, {inks} {'ink' if inks == 1 else 'inks'}",
        units_of=lambda prints: max(prints, price.fewest_pieces),
        breaks=price.breaks,
        row=_ink_row(price, inks),
        fixed=_setups(price, inks, job.mixed),
        runs_apart=True,
        surplus=False,
    )


def _stitches(price: PerStitch, job: Job, money: Money) -> Tariff:
    _fits_platen(price, job)
    if job.ink_area_in2 is None:
        raise PriceError("Stitches are reckoned from the inked area, and that was not measured.")
    covered = Decimal(repr(job.ink_area_in2)) * Decimal(str(price.stitches_per_in2))
    thousands = math.ceil(covered / STITCHES_PRICED)
    charged = max(thousands, math.ceil(Decimal(price.least_stitches) / STITCHES_PRICED))
    return Tariff(
        unit="pieces",
        words=f"embroidery, {charged * STITCHES_PRICED} stitches",
        units_of=lambda prints: max(prints, price.fewest_pieces),
        breaks=price.breaks,
        row=tuple(money.piece(each * charged) for each in price.per_thousand),
        how=f"{job.ink_area_in2:.2f} in2 at {price.stitches_per_in2:g} stitches = {covered:.0f}",
        fixed=_per_design(price.per_design),
        surplus=False,
    )


# --- shared -------------------------------------------------------------------------------------


def _inks_of(price: PerSheet | PerPiece, job: Job) -> int:
    return job.inks + (1 if job.underbase and price.underbase_is_an_ink else 0)


def _ink_row(price: PerSheet | PerPiece, inks: int) -> tuple[Decimal, ...]:
    if inks not in price.by_inks:
        raise PriceError(
            f"The price list knows 1 to {price.most_inks} inks, this print has {inks}."
            " Reduce the inks or choose another method."
        )
    return price.by_inks[inks]


def _setups(price: PerSheet | PerPiece, inks: int, mixed: int) -> tuple[Fixed, ...]:
    found = []
    if price.setup_per_ink:
        found.append(Fixed(words="set-up per ink", count=inks, amount=price.setup_per_ink))
    if mixed and price.mix_per_ink:
        found.append(Fixed(words="inks mixed to order", count=mixed, amount=price.mix_per_ink))
    return tuple(found)


def _per_design(amount: Decimal) -> tuple[Fixed, ...]:
    return (Fixed(words="set-up per design", count=1, amount=amount),) if amount else ()


Box = tuple[Decimal, ...]


def _exact(box: tuple[float, float]) -> Box:
    return tuple(Decimal(str(side)) for side in box)


def _turned(box: tuple[float, float]) -> tuple[tuple[float, float], tuple[float, float]]:
    return box, (box[1], box[0])


def _inside(job: Job, box: tuple[float, float]) -> bool:
    return all(side <= most for side, most in zip(job.size_in, _exact(box), strict=True))


def _fits_platen(price: PerPiece | PerStitch, job: Job) -> None:
    width, height = job.size_in
    sides = (price.widest_in, price.tallest_in)
    room = tuple(Decimal("Infinity") if s is None else Decimal(str(s)) for s in sides)
    if width > room[0] or height > room[1]:
        raise _too_large(job, "does not fit the platen", [room])


def _wider(job: Job, words: str, width_in: float, *, rotate: bool = True) -> PriceError:
    """Endless one way, so wide the other."""
    strip = (Decimal(str(width_in)), Decimal("Infinity"))
    return _too_large(job, f"is wider than {words}", [strip, strip[::-1]] if rotate else [strip])


def _too_large(job: Job, words: str, boxes: list[Box]) -> PriceError:
    """Names the largest width at which the print fits one of the boxes, rounded down."""
    width, height = job.size_in
    widest = max(min(across, down * width / height) for across, down in boxes)
    most = widest.quantize(Decimal("0.01"), rounding=ROUND_DOWN)
    return PriceError(f"A print of {job.size_words} {words}. Print it at most {most} in wide.")
