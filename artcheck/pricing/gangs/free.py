"""Free layouts: every piece lies once, on a roll as short or on sheets as few as found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from artcheck.errors import UsageError
from artcheck.pricing.gangs.designs import MOST_PIECES, Design, GangSheet, Grid
from artcheck.pricing.layout.allowance import Allowance
from artcheck.pricing.layout.climb import Rows, climb, starts
from artcheck.pricing.layout.dual import least_length, least_sheets
from artcheck.pricing.layout.lengths import Length, Size
from artcheck.pricing.layout.mixed import STEPS_PER_PIECE, Filled, Shape, fill, shapes_of

ROLL_BUDGET_S = 1.0
"""Seconds of search for a roll: on twenty mixed orders the mean distance to the bound is then
2.3 %, and 3 s gain another tenth (see the benchmark)."""

SHEETS_BUDGET_S = 0.5
"""Seconds of search for sheets: most orders meet their bound in the first tries."""


TURNS = 5
"""Times that the likings change along a roll: one order of liking leaves 2.5 % above the bound on
average, two 2.3 %, five 2.1 % (measured on twenty mixed orders)."""


@dataclass(frozen=True, slots=True)
class RollGang:
    """One length of roll, the margin at both ends included."""

    layout: GangSheet
    length_in: float
    lower_bound_in: float

    @property
    def proven(self) -> bool:
        """Whether no layout is shorter."""
        return self.length_in <= self.lower_bound_in

    @property
    def distance(self) -> float:
        """Share (0 = none) by which the layout may be longer than the best one."""
        return self.length_in / self.lower_bound_in - 1


@dataclass(frozen=True, slots=True)
class SheetGang:
    """Sheets, each laid out for itself, and the number below which none can do."""

    sheets: tuple[GangSheet, ...]
    lower_bound: int

    @property
    def proven(self) -> bool:
        """Whether no layout takes fewer sheets."""
        return len(self.sheets) == self.lower_bound


@dataclass(frozen=True, slots=True)
class _Roll:
    filled: Filled

    @property
    def score(self) -> tuple[float, ...]:
        return (self.filled.top,)


@dataclass(frozen=True, slots=True)
class _Sheets:
    """The last sheet's area decides between equals: what leaves little there may do without it."""

    filled: tuple[Filled, ...]

    @property
    def score(self) -> tuple[float, ...]:
        last = self.filled[-1].pieces
        return len(self.filled), sum(s.width * s.height for _, _, s in last)


def roll_gang(
    designs: Sequence[Design],
    width_in: Length,
    gutter: Length = 0,
    margin: Length = 0,
    time_budget_s: float = ROLL_BUDGET_S,
) -> RollGang:
    """All designs in their quantities on the shortest length of roll that is found.

    Parameters
    ----------
    designs
        Sizes in inches; ``rotate`` says whether a design may be turned by 90 degrees.
    width_in, gutter, margin
        Width of the roll, space between two pieces, space inside the roll's edges and at both ends.
    time_budget_s
        Search time, counted in steps, so that the same call gives the same layout.

    Raises
    ------
    UsageError
        No design, more than 5,000 pieces, a quantity below 1, or a design wider than the roll.
    """
    grid = _grid(designs, (width_in, None), gutter, margin)
    endless = sum(max(k.width, k.height) * n for k, n in zip(grid.kinds, grid.counts, strict=True))
    size = (grid.room[0], endless)
    shapes = shapes_of(grid.kinds, *size)
    cost = STEPS_PER_PIECE * sum(grid.counts)
    allowance = Allowance(time_budget_s, least=2 * cost)
    bound = least_length(grid.room[0], grid.kinds, grid.counts)

    def decode(rows: Rows) -> _Roll:
        allowance.spend(cost)
        return _Roll(fill(size, shapes, grid.counts, rows))

    best = climb(starts(shapes, TURNS), decode, lambda roll: roll.filled.top <= bound)
    length_in = grid.length_in(best.filled.top)
    layout = grid.sheet_with(best.filled.pieces, length_in)
    return RollGang(layout, length_in, grid.length_in(bound))


def sheet_gang(
    designs: Sequence[Design],
    sheet: Size,
    gutter: Length = 0,
    margin: Length = 0,
    time_budget_s: float = SHEETS_BUDGET_S,
) -> SheetGang:
    """All designs in their quantities on as few sheets as are found, each laid out for itself.

    Parameters as in `roll_gang`, ``sheet`` being (width, height) in inches.

    Raises
    ------
    UsageError
        As `roll_gang`.
    """
    grid = _grid(designs, sheet, gutter, margin)
    shapes = shapes_of(grid.kinds, *grid.room)
    cost = STEPS_PER_PIECE * sum(grid.counts)
    allowance = Allowance(time_budget_s, least=2 * cost)
    bound = math.ceil(least_sheets(grid.room, grid.kinds, grid.counts))

    def decode(rows: Rows) -> _Sheets:
        allowance.spend(cost)
        return _Sheets(tuple(_filled_sheets(grid, shapes, rows)))

    rows = len(decode(starts(shapes, 1)[0]).filled)
    best = climb(starts(shapes, rows), decode, lambda s: len(s.filled) <= bound)
    return SheetGang(tuple(grid.sheet_with(filled.pieces) for filled in best.filled), bound)


def _filled_sheets(grid: Grid, shapes: Sequence[Shape], rows: Rows) -> list[Filled]:
    """One sheet after another, each by its own likings, the last ones for all that follow."""
    left = grid.counts
    sheets: list[Filled] = []
    while any(left):
        likings = rows[min(len(sheets), len(rows) - 1)]
        sheets.append(fill(grid.room, shapes, left, [likings]))
        left = sheets[-1].left
    return sheets


def _grid(
    designs: Sequence[Design],
    sheet: tuple[Length, Length | None],
    gutter: Length,
    margin: Length,
) -> Grid:
    grid = Grid(designs, sheet, gutter, margin)
    if sum(grid.counts) > MOST_PIECES:
        raise UsageError(
            f"{sum(grid.counts)} pieces are too many to lay out singly ({MOST_PIECES} at most):"
            " divide the order."
        )
    return grid
