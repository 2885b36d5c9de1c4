"""Identical pieces that may touch: the grid, then bounds, block cuts and the exact search."""

from __future__ import annotations

from contextlib import suppress
from functools import lru_cache

from artcheck.errors import UsageError
from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.blocks import Blocks
from artcheck.pricing.layout.bounds import Measure, measures, upper_bound
from artcheck.pricing.layout.canonical import Placed, Problem, settle, smallest_equivalent
from artcheck.pricing.layout.skyline import pack

BLOCKS_SHARE = 0.8
"""Part of the search for block cuts; the rest proves, or finds what cuts cannot make."""

MOST_COPIES = 50_000
"""Pieces beyond this are refused: that is a grain of dust on a sheet, so a slip in a unit."""

CACHED_PROBLEMS = 4096
"""Answers kept: a page of what-ifs asks for the same few again and again."""


def pack_alike(problem: Problem, rotate: bool, seconds: float) -> tuple[list[Placed], int]:
    """As many pieces as the search finds, and the most that there can be.

    Raises
    ------
    UsageError
        More than 50,000 would fit.
    """
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


@lru_cache(maxsize=CACHED_PROBLEMS)
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
