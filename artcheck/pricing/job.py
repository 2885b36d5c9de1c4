"""What is to be bought, and how the shop rounds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from artcheck.domain.check import CostLine
from artcheck.units import minor_digits, round_money

Rounding = Literal["each piece", "each line"]

SIZE_STEP_IN = Decimal("0.005")
"""Printed sizes are priced and laid out in steps of 1/200 in: it holds every eighth of an inch, and
a pixel more or less in the file does not decide whether a print fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One design to be bought.

    ``prints`` counts copies, spares included. ``inks`` counts plates without the underbase,
    ``mixed`` those that are mixed to order. ``each_different`` says that every copy is a design of
    its own (names, numbers). ``shapes`` counts the separate pieces that a cutter leaves to weed,
    ``ink_area_in2`` what is covered; None where nobody has looked.
    """

    prints: int
    width_in: float
    height_in: float
    inks: int
    mixed: int = 0
    underbase: bool = False
    each_different: bool = False
    shapes: int | None = None
    ink_area_in2: float | None = None

    @property
    def size_in(self) -> tuple[Decimal, Decimal]:
        """(width, height) in steps of `SIZE_STEP_IN`."""
        return _stepped(self.width_in), _stepped(self.height_in)

    @property
    def size_words(self) -> str:
        """The size as messages give it."""
        width, height = self.size_in
        return f"{width} x {height} in"


@dataclass(frozen=True, slots=True)
class Money:
    """How this shop rounds."""

    currency: str
    rounding: Rounding

    def piece(self, amount: Decimal) -> Decimal:
        """A piece's price as it is multiplied: rounded first where the shop does so."""
        return round_money(amount, self.currency) if self.rounding == "each piece" else amount

    def line(
        self, what: str, quantity: Decimal | int, unit_amount: Decimal, how: str = ""
    ) -> CostLine:
        """Quantity times unit amount, rounded once."""
        count = Decimal(quantity)
        amount = round_money(count * unit_amount, self.currency)
        return CostLine(what=what, quantity=count, unit_amount=unit_amount, amount=amount, how=how)

    def minor(self, amount: Decimal) -> int:
        """The amount in the currency's smallest unit, rounded half up."""
        scaled = amount.scaleb(minor_digits(self.currency))
        return int(scaled.to_integral_value(rounding=ROUND_HALF_UP))

    def multiples(self, each: Decimal) -> Callable[[int], int]:
        """Multiply by n in whole numbers, rounded half up to the smallest unit."""
        numerator, denominator = each.scaleb(minor_digits(self.currency)).as_integer_ratio()
        if denominator == 1:
            return lambda n: n * numerator
        return lambda n: (2 * n * numerator + denominator) // (2 * denominator)

    def all_multiples(self, each: Decimal, counts: range) -> Sequence[int]:
        """`multiples` of every one of ``counts``, thousands of them without a call for each."""
        numerator, denominator = each.scaleb(minor_digits(self.currency)).as_integer_ratio()
        if denominator == 1:
            return _times(counts, numerator)
        doubled = _times(counts, 2 * numerator)
        return [(twice + denominator) // (2 * denominator) for twice in doubled]


def _times(counts: range, factor: int) -> Sequence[int]:
    if factor == 0:
        return [0] * len(counts)
    return range(counts.start * factor, counts.stop * factor, counts.step * factor)


def _stepped(length_in: float) -> Decimal:
    steps = (Decimal(repr(length_in)) / SIZE_STEP_IN).to_integral_value(rounding=ROUND_HALF_UP)
    size = max(steps, Decimal(1)) * SIZE_STEP_IN
    whole = size.to_integral_value()
    return whole if size == whole else size.normalize()  # normalising a whole 10 gives 1E+1
