"""Copies of one piece on a sheet: the most that fit, where they lie, and whether that is proven."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from artcheck.errors import UsageError
from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.blocks import Blocks
from artcheck.pricing.layout.bounds import Measure, measures, upper_bound
from artcheck.pricing.layout.canonical import Placed, Problem, settle, smallest_equivalent
from artcheck.pricing.layout.lengths import Length, Size, as_integers, not_negative, positive
from artcheck.pricing.layout.placing import Box, check_boxes
from artcheck.pricing.layout.skyline import pack

__all__ = ["Layout", "Position", "check_layout", "copies_on_sheet"]

TIME_BUDGET_S = 0.2
"""Seconds of search for a layout: long enough to prove 99 of 100 everyday cases, short enough
that a slider stays smooth."""

BLOCKS_SHARE = 0.8
"""Part of the search for block cuts; the rest proves, or finds what cuts cannot make."""

MOST_COPIES = 50_000
"""Pieces beyond this are refused: that is a grain of dust on a sheet, so a slip in a unit."""

CACHED_LAYOUTS = 4096
"""Layouts kept: a page of what-ifs asks for the same few again and again."""


@dataclass(frozen=True, slots=True)
class Position:
    """Where one copy lies: its upper left corner from the sheet's upper left corner, in inches.

    ``rotated``: turned by 90 degrees, so that it is as wide as the piece is high.
    """

    row_in: float
    col_in: float
    rotated: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """Copies of one piece on one sheet.

    ``upper_bound`` is the number that no layout can exceed; ``proven`` says that ``copies`` is
    the most there is.
    """

    sheet_in: tuple[float, float]
    piece_in: tuple[float, float]
    gutter_in: float
    margin_in: float
    positions: tuple[Position, ...]
    upper_bound: int

    @property
    def copies(self) -> int:
        """Number of pieces on the sheet."""
        return len(self.positions)

    @property
    def proven(self) -> bool:
        """Whether no other layout can hold more."""
        return self.copies == self.upper_bound

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The rectangles that the copies cover."""
        width, height = self.piece_in
        return tuple(
            Box(p.row_in, p.col_in, *((height, width) if p.rotated else (width, height)))
            for p in self.positions
        )


def copies_on_sheet(
    sheet: Size,
    piece: Size,
    gutter: Length = 0,
    margin: Length = 0,
    rotate: bool = True,
    time_budget_s: float = TIME_BUDGET_S,
) -> Layout:
    """The most copies of ``piece`` on ``sheet``.

    Parameters
    ----------
    sheet, piece
        (width, height) in inches.
    gutter
        Inches between two pieces; none is needed at the edge.
    margin
        Inches inside each edge of the sheet that stay empty.
    rotate
        Whether copies may be turned by 90 degrees.
    time_budget_s
        Search time. It is counted in steps, not read from a clock, so that the same call gives the
        same layout everywhere.

    Raises
    ------
    UsageError
        A size that is not positive, a negative gutter or margin, or a piece so small that more
        than 50,000 would fit.
    """
    return _layout(
        (positive(sheet[0], "sheet's width"), positive(sheet[1], "sheet's height")),
        (positive(piece[0], "piece's width"), positive(piece[1], "piece's height")),
        not_negative(gutter, "gutter"),
        not_negative(margin, "margin"),
        rotate,
        time_budget_s,
    )


def check_layout(layout: Layout) -> None:
    """Hold that the copies keep margin and gutter.

    Raises
    ------
    LayoutFault
        They do not: a bug in artcheck.
    """
    check_boxes(layout.boxes, layout.sheet_in, layout.gutter_in, layout.margin_in)


@lru_cache(maxsize=CACHED_LAYOUTS)
def _layout(
    sheet: tuple[Fraction, Fraction],
    piece: tuple[Fraction, Fraction],
    gutter: Fraction,
    margin: Fraction,
    rotate: bool,
    time_budget_s: float,
) -> Layout:
    """The gutter is added once to sheet and piece, which leaves pieces that may touch."""
    room = [side - 2 * margin + gutter for side in sheet]
    sides = [side + gutter for side in piece]
    placed: list[Placed] = []
    most, unit = 0, Fraction(0)
    if min(room) > 0:
        numbers, unit = as_integers([*room, *sides])
        problem = Problem(*numbers)
        placed, most = _packed(problem, rotate, time_budget_s)
    layout = Layout(
        sheet_in=(float(sheet[0]), float(sheet[1])),
        piece_in=(float(piece[0]), float(piece[1])),
        gutter_in=float(gutter),
        margin_in=float(margin),
        positions=tuple(
            Position(float(margin + y * unit), float(margin + x * unit), turned)
            for x, y, turned in sorted(placed, key=lambda p: (p[1], p[0]))
        ),
        upper_bound=most,
    )
    check_layout(layout)
    return layout


def _packed(problem: Problem, rotate: bool, seconds: float) -> tuple[list[Placed], int]:
    """The pieces, and the most there can be."""
    most = problem.across * problem.down // (problem.a * problem.b)
    if most > MOST_COPIES:
        raise UsageError(
            f"About {most} pieces would fit: give the piece's size in inches, or check its unit."
        )
    grid = _better_grid(problem, rotate)
    if not rotate or _only_one_way(problem):
        return grid, len(grid)
    if len(grid) == most:
        return grid, most
    return _searched(problem, grid, seconds)


def _only_one_way(problem: Problem) -> bool:
    """Squares, and pieces that fit in one orientation or none: the grid is the most."""
    longer = max(problem.a, problem.b)
    shorter_side = min(problem.across, problem.down)
    return problem.a == problem.b or longer > shorter_side


def _better_grid(problem: Problem, rotate: bool) -> list[Placed]:
    straight = _grid(problem, problem.a, problem.b, turned=False)
    turned = _grid(problem, problem.b, problem.a, turned=True) if rotate else []
    return max(straight, turned, key=len)


def _grid(problem: Problem, width: int, height: int, *, turned: bool) -> list[Placed]:
    columns = range(0, problem.across - width + 1, width)
    rows = range(0, problem.down - height + 1, height)
    return [(x, y, turned) for y in rows for x in columns]


def _searched(problem: Problem, grid: list[Placed], seconds: float) -> tuple[list[Placed], int]:
    """The smallest equivalent problem, upright and with a tall piece, solved and carried back."""
    small = smallest_equivalent(problem)
    lying, wide = small.across > small.down, small.a > small.b
    sheet = sorted((small.across, small.down))
    upright = Problem(sheet[0], sheet[1], min(small.a, small.b), max(small.a, small.b))
    placed, most = _solved(upright, len(grid), seconds)
    if len(placed) <= len(grid):
        return grid, most
    flip = lying != wide
    there = [(*((y, x) if lying else (x, y)), turned != flip) for x, y, turned in placed]
    return _in_true_lengths(there, small, problem), most


@lru_cache(maxsize=CACHED_LAYOUTS)
def _solved(small: Problem, known: int, seconds: float) -> tuple[list[Placed], int]:
    """Pieces (fewer than ``known`` are of no use) and the most there can be."""
    bounds = measures(small)
    most = upper_bound(small, bounds)
    if known == most:
        return [], most
    allowance = Allowance(seconds)
    placed = _by_blocks(small, most, allowance)
    return _by_outlines(small, bounds, placed, most, allowance)


def _by_blocks(small: Problem, most: int, allowance: Allowance) -> list[Placed]:
    """The best layout of block cuts."""
    lent = allowance.lend(BLOCKS_SHARE)
    blocks = Blocks(small, lent)
    with suppress(SpentError):
        blocks.improve(small.across, small.down, most)
    allowance.take_back(lent)
    return blocks.layout(small.across, small.down)


def _by_outlines(
    small: Problem, bounds: list[Measure], placed: list[Placed], most: int, allowance: Allowance
) -> tuple[list[Placed], int]:
    """One copy more at a time, until there is none or the allowance ends."""
    while len(placed) < most:
        answer = pack(small, bounds, len(placed) + 1, allowance)
        if answer.placed is None:
            return placed, len(placed) if answer.proven else most
        placed = answer.placed
    return placed, most


def _in_true_lengths(placed: list[Placed], small: Problem, true: Problem) -> list[Placed]:
    shape, real = (small.a, small.b), (true.a, true.b)
    columns = settle(((x, turned) for x, _, turned in placed), shape, real)
    rows = settle(((y, not turned) for _, y, turned in placed), shape, real)
    return [(columns[x], rows[y], turned) for x, y, turned in placed]
