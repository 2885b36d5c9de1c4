"""Lengths as exact numbers: what a person typed, not what binary floating point made of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from artcheck.errors import UsageError

Length = int | float | Decimal | Fraction
"""A length in inches as callers hold it."""

Size = tuple[Length, Length]
"""(width, height) in inches."""

DECIMAL_PLACES = 6
"""Digits after the point that are taken as typed: a millionth of an inch is far below any press."""

LARGEST_DENOMINATOR = 25_400
"""Fractions of an inch up to this denominator are recognised: hundredths of a millimetre are
n/2540 in, sixty-fourths and ten-thousandths lie within it too."""

SAME_IN = 1e-9
"""Binary noise: a float this near a recognised fraction (inches) means that fraction."""


@lru_cache(maxsize=4096, typed=True)  # each copy of a design asks for the same two sides
def exact(value: Length, what: str) -> Fraction:
    """The rational number of inches that ``value`` stands for.

    Integers, fractions and numbers of up to six decimals are taken as they are; ``0.1 + 0.2`` and
    millimetres turned into inches snap to the fraction meant; anything else is rounded to a
    millionth of an inch.

    Raises
    ------
    UsageError
        Not a finite number.

    >>> exact(0.1 + 0.2, "gutter"), exact(279.4 / 25.4, "width")
    (Fraction(3, 10), Fraction(11, 1))
    """
    if isinstance(value, int | Fraction):
        return Fraction(value)
    if not math.isfinite(value):
        raise UsageError(f"The {what} must be a finite number of inches, not {value}.")
    typed = Fraction(str(value))
    rounded = Fraction(round(typed * 10**DECIMAL_PLACES), 10**DECIMAL_PLACES)
    near = typed.limit_denominator(LARGEST_DENOMINATOR)
    return next((f for f in (rounded, near) if abs(f - typed) <= SAME_IN), rounded)


def positive(value: Length, what: str) -> Fraction:
    """As `exact`; zero and less raise UsageError."""
    found = exact(value, what)
    if found <= 0:
        raise UsageError(f"The {what} must be more than zero, not {value} in.")
    return found


def not_negative(value: Length, what: str) -> Fraction:
    """As `exact`; less than zero raises UsageError."""
    found = exact(value, what)
    if found < 0:
        raise UsageError(f"The {what} cannot be less than zero, and {value} in is.")
    return found


def as_integers(lengths: Sequence[Fraction]) -> tuple[tuple[int, ...], Fraction]:
    """Smallest integers in proportion to ``lengths``, and the inches that one unit is."""
    scale = math.lcm(*(length.denominator for length in lengths))
    whole = [int(length * scale) for length in lengths]
    common = math.gcd(*whole) or 1
    return tuple(n // common for n in whole), Fraction(common, scale)
