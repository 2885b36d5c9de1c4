"""Lower bounds for mixed rectangles by dual feasible functions.

Such a function stretches lengths so that whatever fits side by side still fits; areas of the
stretched pieces then bound the sheets or the length from below (S. P. Fekete and J. Schepers, "New
classes of fast lower bounds for bin packing problems", Mathematical Programming 91, 2001: the
families u(k) and U(eps) used here). A piece that may turn counts in its smaller orientation.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import product

from artcheck.pricing.layout.mixed import Kind, Shape, shapes_of

LARGEST_K = 5
"""The families u(k) are taken for k = 1 ... 5; more never helped on everyday sheets."""

MOST_SUMMED = 50_000_000
"""Bits of work for sums of heights; longer rolls have sums everywhere, so nothing is lost."""

Stretch = Mapping[int, Fraction]
"""Side to its share (0-1) of the length."""


def stretches(length: int, sides: Sequence[int]) -> Iterator[Stretch]:
    """Dual feasible functions of one axis, evaluated at the sides that fit along it."""
    fitting = sorted({side for side in sides if side <= length})
    yield {side: Fraction(side, length) for side in fitting}
    for k in range(1, LARGEST_K + 1):
        yield {side: _by_steps(side, length, k) for side in fitting}
    shorter = {min(side, length - side) for side in fitting} - {0}
    for least in sorted(shorter):
        yield {side: _rounded(side, length, least) for side in fitting}


def _by_steps(side: int, length: int, k: int) -> Fraction:
    """u(k): the share rounded down to a k-th of how many (k + 1)-ths it holds."""
    steps, rest = divmod(side * (k + 1), length)
    return Fraction(steps, k) if rest else Fraction(side, length)


def _rounded(side: int, length: int, least: int) -> Fraction:
    """U(eps): what leaves less than ``least`` counts whole, what is less counts nothing."""
    if side > length - least:
        return Fraction(1)
    return Fraction(0) if side < least else Fraction(side, length)


def least_sheets(size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int]) -> Fraction:
    """Sheets that the pieces fill at least; more than 1 means that they do not fit on one.

    Every kind that is wanted must fit on a sheet.
    """
    ways = _ways(size, kinds, counts)
    sides = [side for shapes, _ in ways for s in shapes for side in (s.width, s.height)]
    pairs = product(stretches(size[0], sides), list(stretches(size[1], sides)))
    return max(
        (
            sum(
                (n * min(u[s.width] * v[s.height] for s in shapes) for shapes, n in ways),
                Fraction(0),
            )
            for u, v in pairs
        ),
        default=Fraction(0),
    )


def least_length(width: int, kinds: Sequence[Kind], counts: Sequence[int]) -> int:
    """Length of a roll of ``width`` that the pieces take at least, in the same unit."""
    endless = sum(max(kind.width, kind.height) for kind in kinds)
    ways = _ways((width, endless), kinds, counts)
    sides = [shape.width for shapes, _ in ways for shape in shapes]
    stretched = (
        sum((n * min(u[s.width] * s.height for s in shapes) for shapes, n in ways), Fraction(0))
        for u in stretches(width, sides)
    )
    longest = max((min(s.height for s in shapes) for shapes, _ in ways), default=0)
    least = max(longest, *(-(-total.numerator // total.denominator) for total in stretched))
    return _next_sum(least, [(s.height, n) for shapes, n in ways for s in shapes])


def _next_sum(least: int, heights: Sequence[tuple[int, int]]) -> int:
    """The first sum of so many of each height from ``least`` on: a roll ends where a pile ends."""
    if least * sum(n for _, n in heights) > MOST_SUMMED:
        return least
    mask = (1 << (least + max(height for height, _ in heights))) - 1
    sums = 1
    for height, count in heights:
        for _ in range(min(count, least // height + 1)):
            sums |= sums << height & mask
    later = sums >> least
    return least + (later & -later).bit_length() - 1


def _ways(
    size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int]
) -> list[tuple[list[Shape], int]]:
    """For each kind that is wanted: how it can lie, and how many there are."""
    shapes = shapes_of(kinds, *size)
    return [([s for s in shapes if s.kind == i], n) for i, n in enumerate(counts) if n]
