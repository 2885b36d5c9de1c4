"""Lengths and sizes as typed on the command line."""

from __future__ import annotations

import re

from artcheck.errors import UsageError
from artcheck.units import inches

_SIZE = re.compile(r"\s*([\d.]+)\s*x\s*([\d.]+)\s*(in|mm|cm)?\s*", re.IGNORECASE)
_NOTHING = re.compile(r"\s*0+(\.0*)?\s*(in|mm|cm|pt)?\s*")


def length_in(text: str, what: str) -> float:
    """A positive length in inches.

    Raises
    ------
    UsageError
        The text is no length, or not more than zero.
    """
    try:
        return inches(text, what=what)
    except ValueError as wrong:
        raise UsageError(str(wrong)) from None


def space_in(text: str, what: str) -> float:
    """A length that may be zero, such as a gutter; raises as `length_in`."""
    return 0.0 if _NOTHING.fullmatch(text) else length_in(text, what)


def size_in(text: str, what: str) -> tuple[float, float]:
    """A size such as ``12x15`` or ``300x400mm``; raises as `length_in`."""
    found = _SIZE.fullmatch(text)
    if found is None:
        raise UsageError(f"The {what} '{text}' is not a size. Write it like 12x15 or 300x400mm.")
    unit = found[3] or "in"
    return length_in(f"{found[1]}{unit}", what), length_in(f"{found[2]}{unit}", what)
