"""The smallest whole-number problem with the same answer.

Whether identical rectangles fit depends only on which numbers (i, j) of long and short sides fit
along the sheet's width and height: in any layout each pair of pieces is separated in x or in y,
chains of separated pieces must fit along the sheet, and nothing else is asked. So every problem
may be swapped for the one with the smallest whole numbers and the same (i, j)
(equivalence classes of the pallet-loading problem: K. A. Dowsland, "The three-dimensional pallet
chart", Journal of the Operational Research Society 35, 1984). A 170 x 955 grid of sixteenths
becomes 85 x 477 or far less, and every search runs on that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

Placed = tuple[int, int, bool]
"""x, y and whether the piece is turned by 90 degrees."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Pieces of ``a`` x ``b`` on a sheet of ``across`` x ``down``, turning allowed, no gutter."""

    across: int
    down: int
    a: int
    b: int


@dataclass(frozen=True, slots=True)
class Scale:
    """Lengths for the two sides on one axis that every line across the sheet keeps to.

    Whatever (i, j) of the two sides fits along the real sheet, ``i * a + j * b <= length``.
    """

    length: int
    a: int
    b: int


def staircase(length: int, a: int, b: int) -> list[int]:
    """For i = 0, 1 ...: how many ``b`` still fit along ``length`` beside i times ``a``."""
    return [(length - used) // b for used in range(0, length + 1, a)]


def smallest_equivalent(problem: Problem) -> Problem:
    """The equivalent problem with the least ``a`` and ``b``, and lengths without slack."""
    stairs = [staircase(n, problem.a, problem.b) for n in (problem.across, problem.down)]
    a, b = _simplest(stairs, problem.a, problem.b)
    return Problem(_reach(stairs[0], a, b), _reach(stairs[1], a, b), a, b)


def smallest_scale(length: int, a: int, b: int) -> Scale:
    """The same for one axis alone: it may differ from the other one's."""
    stair = staircase(length, a, b)
    a, b = _simplest([stair], a, b)
    return Scale(_reach(stair, a, b), a, b)


def _simplest(stairs: Sequence[list[int]], a: int, b: int) -> tuple[int, int]:
    """Least sides that keep the staircases.

    The ratios that keep them form an open interval around a/b, so the simplest fraction in it is
    an ancestor of a/b in the Stern-Brocot tree: walk down from the root.
    """
    return next((p, q) for p, q in _ancestors(a, b) if all(_keeps(stair, p, q) for stair in stairs))


def _ancestors(a: int, b: int) -> Iterator[tuple[int, int]]:
    """Fractions on the way from 1/1 to a/b in the Stern-Brocot tree."""
    low, high = (0, 1), (1, 0)
    while True:
        middle = (low[0] + high[0], low[1] + high[1])
        yield middle
        side = a * middle[1] - b * middle[0]
        if side == 0:
            return
        if side > 0:
            low = middle
        else:
            high = middle


def _reach(stair: Sequence[int], a: int, b: int) -> int:
    return max(i * a + j * b for i, j in enumerate(stair))


def _keeps(stair: Sequence[int], a: int, b: int) -> bool:
    """Whether some length holds exactly the (i, j) of ``stair`` in sides ``a`` and ``b``."""
    too_long = min(i * a + (j + 1) * b for i, j in enumerate(stair))
    return _reach(stair, a, b) < min(too_long, len(stair) * a)


def settle(
    starts: Iterable[tuple[int, bool]], shape: tuple[int, int], real: tuple[int, int]
) -> dict[int, int]:
    """Carry the coordinates of one axis over to other lengths of the two sides.

    Parameters
    ----------
    starts
        (coordinate, whether the second side lies along the axis) of each piece.
    shape, real
        Lengths of the two sides before and after.

    Returns
    -------
    dict
        Old start to new start: the longest chain, in the new lengths, of pieces that end before.
    """
    ends: list[tuple[int, int]] = []
    settled: dict[int, int] = {}
    reached = 0
    for start, side in sorted(set(starts)):
        while ends and ends[0][0] <= start:
            reached = max(reached, heappop(ends)[1])
        settled[start] = reached
        heappush(ends, (start + shape[side], reached + real[side]))
    return settled
