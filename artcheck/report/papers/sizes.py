"""Lengths and dates as papers say them, and how large art may lie on a page."""

from __future__ import annotations

import datetime as dt
import re

from artcheck.domain.shop import PaperRules
from artcheck.units import MM_PER_INCH

PAGE_IN = {"letter": (8.5, 11.0), "a4": (210 / MM_PER_INCH, 297 / MM_PER_INCH)}
"""ANSI Letter and ISO 216 A4."""

SIDE_MARGIN_IN = 0.75
"""As in paper.typ: office printers leave a quarter inch bare, a hole punch takes half."""

ROOM_FOR_ART_IN = 5.6
"""Height that the title and the words under the art leave on the lower of the two pages."""

CLOTH_IN = 0.3
"""Cloth shown around the art: enough to judge contrast, little enough for a full front."""

SCALES = (1.0, 0.75, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1, 0.05, 0.02)
"""Scales at which art is shown, the largest that fits: round, so that a ruler can follow."""


def length_words(length_in: float, units: str) -> str:
    """One length in the shop's unit."""
    return f"{length_in * MM_PER_INCH:.0f} mm" if units == "mm" else f"{length_in:.2f} in"


def size_words(width_in: float, height_in: float, units: str) -> str:
    """Width by height in the shop's unit."""
    width, height = (length_words(side, units) for side in (width_in, height_in))
    return f"{width.split()[0]} × {height}"


_SIZE = re.compile(r"(\d+(?:\.\d+)?) x (\d+(?:\.\d+)?) in\b")
_LENGTH = re.compile(r"(\d+(?:\.\d+)?) in(?= wide| is| roll|[.,;:)]|$)")
"""As findings and price lists write them, always in inches."""


def in_units(words: str, units: str) -> str:
    """A sentence with its lengths in the shop's unit: 12 x 15 in, 4.2 in wide."""
    if units == "in":
        return _SIZE.sub(r"\1 × \2 in", words)
    words = _SIZE.sub(lambda m: size_words(float(m[1]), float(m[2]), units), words)
    return _LENGTH.sub(lambda m: length_words(float(m[1]), units), words)


def span_words(first_in: float, last_in: float, units: str) -> str:
    """From one length to another: 5 to 8 in."""
    if units == "mm":
        return f"{first_in * MM_PER_INCH:.0f} to {last_in * MM_PER_INCH:.0f} mm"
    return f"{first_in:g} to {last_in:g} in"


def date_words(date: dt.date | None) -> str:
    """26 November 2026; nothing for none."""
    return "" if date is None else f"{date.day} {date:%B} {date.year}"


def shown_scale(width_in: float, height_in: float, rules: PaperRules) -> float:
    """The largest of `SCALES` at which such a print fits the page."""
    room = PAGE_IN[rules.page][0] - 2 * SIDE_MARGIN_IN - 2 * CLOTH_IN
    tall = ROOM_FOR_ART_IN + 1e-9  # 0.4 of 14 in is 5.6 in, but not in binary
    fits = (s for s in SCALES if width_in * s <= room and height_in * s <= tall)
    return next(fits, SCALES[-1])
