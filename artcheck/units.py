"""Lengths (inch, millimetre, point, pixel at a resolution) and money rounding. Pure arithmetic."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

POINTS_PER_INCH: Final = 72.0
"""Typographic points in an inch (CSS Values and Units Level 4, section 6.2)."""

MM_PER_INCH: Final = 25.4
"""Millimetres in an inch, exact (international yard and pound agreement, 1959)."""

SQUARE_INCHES_PER_SQUARE_MM: Final = 1 / MM_PER_INCH**2

_INCHES: Final = {
    "in": 1.0,
    "mm": 1 / MM_PER_INCH,
    "cm": 10 / MM_PER_INCH,
    "pt": 1 / POINTS_PER_INCH,
}
_LENGTH = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(in|mm|cm|pt|\"|″)?\s*", re.IGNORECASE)

MINOR_DIGITS: Final = {
    "JPY": 0,
    "KRW": 0,
    "ISK": 0,
    "CLP": 0,
    "BHD": 3,
    "KWD": 3,
    "JOD": 3,
    "TND": 3,
}
"""Digits after the point by currency, where they are not two (ISO 4217:2015, from memory)."""


def inches(text: str, *, what: str = "length") -> float:
    """Read a positive length such as ``11in``, ``280 mm`` or ``28cm``; a bare number is inches.

    Raises
    ------
    ValueError
        The text is no length, or the length is zero or beyond all numbers.
    """
    found = _LENGTH.fullmatch(text)
    if found is None:
        raise ValueError(f"The {what} '{text}' is not a length. Write it like 11in, 280mm or 28cm.")
    unit = (found[2] or "in").lower().replace('"', "in").replace("″", "in")
    value = float(found[1]) * _INCHES[unit]
    if not 0 < value < math.inf:
        wrong = "more than zero" if value <= 0 else "a size that can be printed"
        raise ValueError(f"The {what} '{text}' must be {wrong}. Give the size of the print.")
    return value


def points(length_px: float, ppi: float) -> float:
    """Points covered by ``length_px`` pixels at ``ppi`` pixels per inch."""
    return length_px / ppi * POINTS_PER_INCH


def fahrenheit_to_celsius(temperature_f: float) -> float:
    """Degrees Celsius, exact by definition of the scale."""
    return (temperature_f - 32) / 1.8


def celsius_to_fahrenheit(temperature_c: float) -> float:
    """Degrees Fahrenheit, exact by definition of the scale."""
    return temperature_c * 1.8 + 32


def minor_digits(currency: str) -> int:
    """Digits after the decimal point in amounts of ``currency`` (three letters, ISO 4217)."""
    return MINOR_DIGITS.get(currency.upper(), 2)


def round_money(amount: Decimal, currency: str) -> Decimal:
    """Round half up to the currency's smallest unit, as invoices do."""
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency)), rounding=ROUND_HALF_UP)
