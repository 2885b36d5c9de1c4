"""Cutting a sheet into two or five smaller ones, each filled by the same rule.

Five blocks around a centre are the smallest cut that a straight line cannot make; repeated inside
every block they reach the best layout in all but about one case in a hundred (R. Morabito and
S. Morales, "A simple and effective recursive procedure for the manufacturer's pallet loading
problem", Journal of the Operational Research Society 49, 1998). Cuts lie on raster points (sums of
sides, taken from the left and again from the right), every rectangle is worked on once, and a cut
is followed only while the blocks' bounds still reach the goal.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import product

from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.bounds import Measure, barnes, scales, upper_bound
from artcheck.pricing.layout.canonical import Placed, Problem, Scale

Rect = tuple[int, int]
"""Width and height of a part of the sheet, the smaller first."""

STEPS_PER_BOUND = 50
"""A bound by measures takes as long as about fifty steps (measured)."""

SUMS_PER_STEP = 16
"""Raster points are made so many to a step (measured)."""

STRIP_BY_WIDTH = 1.5
"""Strips of a roll are worked on up to this length by width: longer ones rarely do better."""

STRIPS_SHARE = 0.4
"""Part of the search (0-1) that strips may take at most."""

Block = tuple[int, int, int, int]
"""x, y, width and height inside the part that is cut."""


def sums(length: int, a: int, b: int) -> list[bool]:
    """For 0 ... ``length``: whether it is a sum of ``a`` and ``b``."""
    found = [True] + [False] * length
    for n in range(1, length + 1):
        found[n] = (n >= a and found[n - a]) or (n >= b and found[n - b])
    return found


def floors(found: Sequence[bool]) -> list[int]:
    """For each length the largest sum that it holds."""
    largest, out = 0, []
    for n, is_sum in enumerate(found):
        largest = n if is_sum else largest
        out.append(largest)
    return out


class Blocks:
    """Layouts of one piece on every rectangle met, improved on demand."""

    def __init__(self, problem: Problem, allowance: Allowance) -> None:
        self._a, self._b = problem.a, problem.b
        self._piece = problem.a * problem.b
        self._allowance = allowance
        found = sums(max(problem.across, problem.down), problem.a, problem.b)
        self._floor = floors(found)
        self._sums = [n for n, is_sum in enumerate(found) if is_sum]
        self._scales: dict[int, list[Scale]] = {}
        self._points: dict[int, list[int]] = {}
        self._most: dict[Rect, int] = {}
        self._best: dict[Rect, int] = {}
        self._cut: dict[Rect, tuple[Block, ...]] = {}
        self._hopeless: dict[Rect, int] = {}

    def improve(self, width: int, height: int, most: int) -> None:
        """Look for layouts of one copy more at a time, up to ``most``; `best` tells how far.

        Raises
        ------
        SpentError
            The allowance ended first; what was found is kept.
        """
        rect = self._rect(width, height)
        if rect[1] >= 2 * rect[0] and self.best(*rect) < most:
            self._lay_strips(rect, self._strips(rect))
        while self.best(*rect) < most and self.reach(*rect, self.best(*rect) + 1):
            pass

    def _strips(self, rect: Rect) -> list[int]:
        """Lengths of strips across a roll, each filled as well as cuts can."""
        width, length = rect
        strips = [n for n in self._raster(length) if n <= STRIP_BY_WIDTH * width]
        whole, self._allowance = self._allowance, self._allowance.lend(STRIPS_SHARE)
        with suppress(SpentError):
            for strip in strips:
                while self.reach(width, strip, self.best(width, strip) + 1):
                    pass
        whole.take_back(self._allowance)
        self._allowance = whole
        return strips

    def _lay_strips(self, rect: Rect, strips: list[int]) -> None:
        """One strip after another, by the knapsack's recursion over the length."""
        width, whole = rect
        lengths = [n for n in (*self._raster(whole), whole) if n > width]
        self._allowance.spend(len(lengths) * len(strips))
        for length in lengths:
            for strip in strips:
                blocks = ((0, 0, width, strip), (0, strip, width, length - strip))
                if strip < length and self._together(blocks) > self.best(width, length):
                    self._keep((width, length), blocks)

    def best(self, width: int, height: int) -> int:
        """Copies of the best layout known; at first the better of the two grids."""
        rect = self._rect(width, height)
        if rect not in self._best:
            p, q = rect
            self._best[rect] = max((p // self._a) * (q // self._b), (p // self._b) * (q // self._a))
        return self._best[rect]

    def reach(self, width: int, height: int, goal: int) -> bool:
        """Whether cuts give ``goal`` copies or more."""
        rect = self._rect(width, height)
        if self.best(*rect) >= goal:
            return True
        if self._bound(*rect) < goal or self._hopeless.get(rect, goal + 1) <= goal:
            return False
        if self._two(rect, goal) or self._five(rect, goal):
            return True
        self._hopeless[rect] = goal
        return False

    def layout(self, width: int, height: int) -> list[Placed]:
        """Pieces of the best layout known."""
        rect = self._rect(width, height)
        blocks = self._cut.get(rect)
        placed = self._grid(rect) if blocks is None else self._assembled(blocks)
        if rect == (self._floor[width], self._floor[height]):
            return placed
        return [(y, x, not turned) for x, y, turned in placed]

    def _assembled(self, blocks: Sequence[Block]) -> list[Placed]:
        return [
            (x + left, y + top, turned)
            for left, top, width, height in blocks
            for x, y, turned in self.layout(width, height)
        ]

    def _grid(self, rect: Rect) -> list[Placed]:
        a, b = self._a, self._b
        straight = (rect[0] // a) * (rect[1] // b) >= (rect[0] // b) * (rect[1] // a)
        w, h = (a, b) if straight else (b, a)
        columns, rows = rect[0] // w, rect[1] // h
        return [(i * w, j * h, not straight) for j in range(rows) for i in range(columns)]

    def _rect(self, width: int, height: int) -> Rect:
        p, q = self._floor[width], self._floor[height]
        return (p, q) if p <= q else (q, p)

    def _bound(self, width: int, height: int) -> int:
        rect = self._rect(width, height)
        most = self._most.get(rect)
        if most is None:
            most = self._most[rect] = self._bound_of(*rect)
        return most

    def _bound_of(self, p: int, q: int) -> int:
        short, long = sorted((self._a, self._b))
        if p < long:
            return (p // short) * (q // long)
        problem = Problem(p, q, self._a, self._b)
        if barnes(problem) == self.best(p, q):
            return self.best(p, q)
        self._allowance.spend(STEPS_PER_BOUND)
        pairs = product(self._scales_of(p), self._scales_of(q))
        return upper_bound(problem, [Measure(x, y) for x, y in pairs])

    def _scales_of(self, n: int) -> list[Scale]:
        if n not in self._scales:
            self._scales[n] = scales(n, self._a, self._b)
        return self._scales[n]

    def _waste(self, width: int, height: int) -> int:
        """Area that stays empty whatever is done."""
        return width * height - self._bound(width, height) * self._piece

    def _raster(self, length: int) -> list[int]:
        """Places to cut ``length``, its ends left out."""
        points = self._points.get(length)
        if points is None:
            floor = self._floor
            self._allowance.spend(len(self._sums) // SUMS_PER_STEP)
            kept = {floor[length - n] for n in self._sums if n <= length}
            points = self._points[length] = sorted(kept - {0, length})
        return points

    def affordable(self, side: int, other: int, spare: int) -> list[tuple[int, int]]:
        """(cut, waste) of blocks ``side`` by a cut of ``other`` that waste at most ``spare``."""
        points = self._raster(other)
        self._allowance.spend(len(points))
        wastes = ((cut, self._waste(side, cut)) for cut in points)
        return [(cut, waste) for cut, waste in wastes if waste <= spare]

    def _two(self, rect: Rect, goal: int) -> bool:
        p, q = rect
        for x in self._raster(p):
            if self._fill(rect, ((0, 0, x, q), (x, 0, p - x, q)), goal):
                return True
        for y in self._raster(q):
            if self._fill(rect, ((0, 0, p, y), (0, y, p, q - y)), goal):
                return True
        return False

    def _five(self, rect: Rect, goal: int) -> bool:
        p, q = rect
        corners = _Corners(self, rect, p * q - goal * self._piece)
        return any(
            self._fill(rect, blocks, goal)
            for right in self._raster(p)
            for blocks in self._five_at(rect, right, corners)
        )

    def _five_at(self, rect: Rect, right: int, corners: _Corners) -> Iterator[tuple[Block, ...]]:
        """Five blocks whose lower left one is ``right`` wide."""
        p, q = rect
        for top, first in corners.column(right):
            seconds, thirds = corners.column(p - right), corners.row(q - top)
            for rise, second in seconds:
                left = corners.spare - first - second
                if rise <= top or left < 0:
                    continue
                self._allowance.spend(len(thirds))
                for x, third in thirds:
                    if x < right and third + self._waste(p - x, q - rise) <= left:
                        yield (
                            (0, 0, right, top),
                            (right, 0, p - right, rise),
                            (x, rise, p - x, q - rise),
                            (0, top, x, q - top),
                            (x, top, right - x, rise - top),
                        )

    def _fill(self, rect: Rect, blocks: tuple[Block, ...], goal: int) -> bool:
        """Raise the blocks until together they hold ``goal``, as long as their bounds allow it."""
        self._allowance.spend()
        spare = sum(self._bound(w, h) for _, _, w, h in blocks) - goal
        for _, _, width, height in blocks:
            if spare < 0:
                return False
            while self._together(blocks) < goal and not self._is_full(width, height):
                least = self._bound(width, height) - spare
                if not self.reach(width, height, max(self.best(width, height) + 1, least)):
                    spare -= self._bound(width, height) - self.best(width, height)
                    break
        if self._together(blocks) < goal:
            return False
        self._keep(rect, blocks)
        return True

    def _is_full(self, width: int, height: int) -> bool:
        return self.best(width, height) == self._bound(width, height)

    def _together(self, blocks: Sequence[Block]) -> int:
        return sum(self.best(width, height) for _, _, width, height in blocks)

    def _keep(self, rect: Rect, blocks: tuple[Block, ...]) -> None:
        self._best[rect] = self._together(blocks)
        self._cut[rect] = blocks


class _Corners:
    """Blocks at the corners of one rectangle that waste no more than is to spare."""

    def __init__(self, blocks: Blocks, rect: Rect, spare: int) -> None:
        self.spare = spare
        self._blocks, self._rect = blocks, rect
        self._columns: dict[int, list[tuple[int, int]]] = {}
        self._rows: dict[int, list[tuple[int, int]]] = {}

    def column(self, width: int) -> list[tuple[int, int]]:
        """(height, waste) of blocks of ``width`` that stand on the lower edge."""
        if width not in self._columns:
            self._columns[width] = self._blocks.affordable(width, self._rect[1], self.spare)
        return self._columns[width]

    def row(self, height: int) -> list[tuple[int, int]]:
        """(width, waste) of blocks of ``height`` that lie at the left edge."""
        if height not in self._rows:
            self._rows[height] = self._blocks.affordable(height, self._rect[0], self.spare)
        return self._rows[height]
