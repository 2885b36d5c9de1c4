"""Boxes on a sheet, and the one check that every layout passes wherever it comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NoReturn

TOLERANCE_IN = 1e-6
"""Inches that two boxes may seem to overlap: rounding of exact positions to floating point."""


class LayoutFault(AssertionError):  # noqa: N818 - a broken promise of this program, not an error of the user's
    """A layout overlaps itself or hangs over the sheet: a bug in artcheck."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in inches; ``row_in`` and ``col_in`` from the sheet's upper left corner."""

    row_in: float
    col_in: float
    width_in: float
    height_in: float


def check_boxes(
    boxes: Iterable[Box], sheet_in: tuple[float, float], gutter_in: float, margin_in: float
) -> None:
    """Hold that every box keeps the margin and every two the gutter (in x or in y).

    Parameters
    ----------
    sheet_in
        (width, height); the height may be ``math.inf`` for a roll.

    Raises
    ------
    LayoutFault
        With the two boxes, or the box and the edge, that are too near.
    """
    placed = sorted(boxes, key=lambda box: box.row_in)
    for box in placed:
        _check_edges(box, sheet_in, margin_in - TOLERANCE_IN)
    _check_gaps(placed, gutter_in - TOLERANCE_IN)


def _check_edges(box: Box, sheet_in: tuple[float, float], margin_in: float) -> None:
    right, bottom = box.col_in + box.width_in, box.row_in + box.height_in
    inside = (box.col_in, box.row_in, sheet_in[0] - right, sheet_in[1] - bottom)
    if min(inside) < margin_in:
        _fault(f"{box} hangs over the margin of {margin_in:g} in on a sheet of {sheet_in}")


def _check_gaps(placed: Sequence[Box], gutter_in: float) -> None:
    """Sweep down the rows, holding the boxes that the row still crosses."""
    crossed: list[Box] = []
    for box in placed:
        crossed = [a for a in crossed if a.row_in + a.height_in + gutter_in > box.row_in]
        for above in crossed:
            if _near(above.col_in, above.width_in, box.col_in, box.width_in, gutter_in):
                _fault(f"{above} and {box} are nearer than the gutter of {gutter_in:g} in")
        crossed.append(box)


def _near(start: float, length: float, other: float, other_length: float, gutter: float) -> bool:
    return start < other + other_length + gutter and other < start + length + gutter


def _fault(words: str) -> NoReturn:
    raise LayoutFault(f"bug in artcheck: {words}")
