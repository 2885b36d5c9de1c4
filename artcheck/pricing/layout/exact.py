"""Whether a set of mixed rectangles fits on one sheet: the whole search, for small sets.

As with identical pieces the outline is the state, here together with what is still to be placed.
Pieces start only at sums of sides, because any layout can be pushed to the left and down.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from functools import cache

from artcheck.pricing.layout.allowance import Allowance
from artcheck.pricing.layout.mixed import Kind, Piece, Shape, shapes_of

STEPS_PER_OUTLINE = 12
"""An outline takes as long as about a dozen steps of the block search (measured)."""

COLUMNS_PER_STEP = 20
"""One more step for each twenty columns (measured)."""

Outline = str
"""Heights of the columns as indices into the sums, one character each."""

Trail = tuple["Trail", int, int, Shape] | None
"""Pieces placed so far, the last first."""

State = tuple[Outline, tuple[int, ...], int, Trail]
"""Outline, pieces left of each kind, waste, trail."""


def search(
    size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int], allowance: Allowance
) -> list[Piece] | None:
    """A layout of all ``counts``; None: there is none.

    Raises
    ------
    SpentError
        The allowance ended before either was found.
    """
    upright = size[0] <= size[1]
    if upright:
        return _Search(size, kinds, counts).run(allowance)
    turned = [Kind(kind.height, kind.width, kind.turns) for kind in kinds]
    found = _Search((size[1], size[0]), turned, counts).run(allowance)
    return None if found is None else [(y, x, _transposed(shape)) for x, y, shape in found]


def _transposed(shape: Shape) -> Shape:
    return Shape(shape.height, shape.width, shape.kind, shape.turned)


class _Search:
    """One sheet, its columns and rows the stretches between sums of sides."""

    def __init__(self, size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int]) -> None:
        self._counts = tuple(counts)
        shapes = [shape for shape in shapes_of(kinds, *size) if counts[shape.kind]]
        shapes.sort(key=lambda s: (s.width * s.height, s.width))
        widths = [(s.width, counts[s.kind]) for s in shapes]
        heights = [(s.height, counts[s.kind]) for s in shapes]
        self._xs, self._ys = _sums(size[0], widths), _sums(size[1], heights)
        self._columns, self._rows = len(self._xs) - 1, len(self._ys) - 1
        self._shapes = [
            (shape, _ends(self._xs, shape.width), _ends(self._ys, shape.height)) for shape in shapes
        ]
        used = sum(kind.width * kind.height * n for kind, n in zip(kinds, counts, strict=True))
        self._spare = size[0] * size[1] - used
        self._size, self._anchor = size, _anchor(kinds, counts)
        self._row_waste = cache(_short_of(_sums(size[0], widths, whole=False)))
        short = _short_of(_sums(size[1], heights, whole=False))
        self._column_waste = [short(size[1] - y) for y in self._ys]

    def run(self, allowance: Allowance) -> list[Piece] | None:
        """Depth first; the largest shapes first."""
        certain = self._size[0] * self._column_waste[0]
        stack: list[State] = [(chr(0) * self._columns, self._counts, certain, None)]
        seen: set[tuple[Outline, tuple[int, ...]]] = set()
        steps = STEPS_PER_OUTLINE + self._columns // COLUMNS_PER_STEP
        while stack:
            allowance.spend(steps)
            for state in self._successors(stack.pop()):
                if not any(state[1]):
                    return [(self._xs[x], self._ys[y], s) for x, y, s in _unwound(state[3])]
                if state[2] <= self._spare and state[:2] not in seen:
                    seen.add(state[:2])
                    stack.append(state)
        return None

    def _successors(self, state: State) -> Iterator[State]:
        """Fill the lowest, leftmost gap: leave its corner empty, or put a piece there."""
        outline, left = state[:2]
        lowest = min(outline)
        y, x = ord(lowest), outline.index(lowest)
        end = self._columns - len(outline[x:].lstrip(lowest))
        before = ord(outline[x - 1]) if x else self._rows
        wall = min(before, ord(outline[end]) if end < self._columns else self._rows)
        if self._too_wasteful(state[2], x, end, y, wall):
            return
        fitting = [
            (shape, across[x], down[y])
            for shape, across, down in self._shapes
            if left[shape.kind] and across[x] <= end and down[y] <= self._rows
        ]
        if fitting:
            yield self._emptied(state, x, x + 1, y + 1)
            yield from (self._with_piece(state, x, y, *ways) for ways in fitting)
        else:
            yield self._emptied(state, x, end, wall)

    def _too_wasteful(self, waste: int, x: int, end: int, y: int, wall: int) -> bool:
        """Whether the rows of a gap between two walls must waste more than is to spare."""
        width = self._xs[end] - self._xs[x]
        above = waste - width * self._column_waste[y]
        return above + self._row_waste(width) * (self._ys[wall] - self._ys[y]) > self._spare

    def _emptied(self, state: State, x: int, end: int, top: int) -> State:
        outline, left, waste, trail = state
        y, columns = ord(outline[x]), self._column_waste
        height = self._ys[top] - self._ys[y] + columns[top] - columns[y]
        waste += (self._xs[end] - self._xs[x]) * height
        risen = outline[:x] + chr(top) * (end - x) + outline[end:]
        return risen, left, waste, trail

    def _with_piece(self, state: State, x: int, y: int, shape: Shape, end: int, top: int) -> State:
        outline, left, waste, trail = state
        kind = shape.kind
        fewer = (*left[:kind], left[kind] - 1, *left[kind + 1 :])
        waste += shape.width * (self._column_waste[top] - self._column_waste[y])
        if kind == self._anchor and self._is_far(x, y, shape):
            waste = self._spare + 1
        risen = outline[:x] + chr(top) * (end - x) + outline[end:]
        return risen, fewer, waste, (trail, x, y, shape)

    def _is_far(self, x: int, y: int, shape: Shape) -> bool:
        """Whether a piece lies beyond the middle of the sheet, where its mirror image does not."""
        right, bottom = 2 * self._xs[x] + shape.width, 2 * self._ys[y] + shape.height
        return right > self._size[0] or bottom > self._size[1]


def _anchor(kinds: Sequence[Kind], counts: Sequence[int]) -> int | None:
    """The largest of the kinds with a single piece: mirroring brings it to the near quarter."""
    single = [i for i, n in enumerate(counts) if n == 1]
    return max(single, key=lambda i: kinds[i].width * kinds[i].height, default=None)


def _sums(length: int, sides: Sequence[tuple[int, int]], *, whole: bool = True) -> list[int]:
    """Sums of so many of each side up to ``length``, and (``whole``) ``length`` itself."""
    sums = {0}
    for side, count in sides:
        for _ in range(count):
            grown = {n + side for n in sums if n + side <= length}
            if grown <= sums:
                break
            sums |= grown
    return sorted(sums | {length} if whole else sums)


def _short_of(sums: Sequence[int]) -> Callable[[int], int]:
    """What a length has over the largest sum that it holds."""
    return lambda length: length - sums[bisect_right(sums, length) - 1]


def _ends(points: Sequence[int], side: int) -> list[int]:
    """For each point the index of the point ``side`` further; beyond the last: there is none."""
    index = {point: i for i, point in enumerate(points)}
    return [index.get(point + side, len(points)) for point in points]


def _unwound(trail: Trail) -> list[Piece]:
    pieces = []
    while trail is not None:
        trail, x, y, shape = trail
        pieces.append((x, y, shape))
    return pieces
