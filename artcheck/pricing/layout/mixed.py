"""Rectangles of several kinds: filling a sheet or a roll gap by gap along its skyline.

The lowest gap is filled first (E. K. Burke, G. Kendall and G. Whitwell, "A new placement heuristic
for the orthogonal stock-cutting problem", Operations Research 52, 2004, fill it by the best-fitting
piece). Here what fits best is weighed against how much each shape is liked, and the likings are
what the search in `climb` improves: a layout is a few numbers, decoded in a millisecond.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

FULL_WIDTH = 2.0
"""Liking added for a shape that fills its gap from wall to wall ..."""

LEVEL = 1.0
"""... and for each neighbour that it ends level with. Likings lie between 0 and 1.5."""


STEPS_PER_PIECE = 5
"""Steps of a search that placing one piece takes (measured: 2 microseconds)."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces of one size; ``turns``: they may be turned by 90 degrees."""

    width: int
    height: int
    turns: bool = True


@dataclass(frozen=True, slots=True)
class Shape:
    """A kind as it lies."""

    width: int
    height: int
    kind: int
    turned: bool


Piece = tuple[int, int, Shape]
"""x, y, shape."""


@dataclass(frozen=True, slots=True)
class Filled:
    """What was placed, what is left over of each kind, and how high it reaches."""

    pieces: list[Piece]
    left: tuple[int, ...]
    top: int


def shapes_of(kinds: Sequence[Kind], width: int, height: int) -> list[Shape]:
    """Every way in which a piece can lie on ``width`` x ``height``."""
    lying = [Shape(k.width, k.height, i, turned=False) for i, k in enumerate(kinds)]
    turned = [
        Shape(k.height, k.width, i, turned=True)
        for i, k in enumerate(kinds)
        if k.turns and k.width != k.height
    ]
    return [s for s in lying + turned if s.width <= width and s.height <= height]


def fill(
    size: tuple[int, int],
    shapes: Sequence[Shape],
    counts: Sequence[int],
    rows: Sequence[Sequence[float]],
) -> Filled:
    """Place pieces until all ``counts`` lie or no more fit.

    Each of ``rows`` holds a liking for each of ``shapes``; they take turns, the first for the
    first pieces. A roll is a sheet as high as all pieces together.
    """
    line, roof, top = _Skyline(*size), size[1], 0
    left, pieces = list(counts), []
    turn = -(-sum(counts) // len(rows))
    options = _options(shapes, rows[0], left)
    while options and (gap := line.lowest()) is not None:
        shape = _best(gap, roof, options)
        if shape is None:
            line.lift(gap)
            continue
        pieces.append((line.put(gap, shape), gap[3], shape))
        top = max(top, gap[3] + shape.height)
        left[shape.kind] -= 1
        if not left[shape.kind] or len(pieces) % turn == 0:
            options = _options(shapes, rows[min(len(pieces) // turn, len(rows) - 1)], left)
    return Filled(pieces, tuple(left), top)


Gap = tuple[int, int, int, int, int, int]
"""The lowest step of the skyline: its index, start, width and height, the heights of the walls to
its left and right. (A plain tuple: a layout makes hundreds, a search thousands of layouts.)"""

Option = tuple[float, int, int, Shape]
"""Liking, width, height, and the shape itself."""


def _options(
    shapes: Sequence[Shape], likings: Sequence[float], left: Sequence[int]
) -> list[Option]:
    """Shapes of which some are left."""
    liked = zip(likings, shapes, strict=True)
    return [(liking, s.width, s.height, s) for liking, s in liked if left[s.kind]]


def _best(gap: Gap, roof: int, options: Sequence[Option]) -> Shape | None:
    """The best-liked shape for the gap; None when nothing fits."""
    _, _, room, bottom, before, after = gap
    best, most = None, -1.0
    for liking, width, height, shape in options:
        top = bottom + height
        if width > room or top > roof:
            continue
        if width == room:
            liking += FULL_WIDTH
        if top == before:
            liking += LEVEL
        if top == after:
            liking += LEVEL
        if liking > most:
            best, most = shape, liking
    return best


class _Skyline:
    """Steps from left to right: where each starts and how high it is."""

    __slots__ = ("_roof", "_starts", "_tops", "_width")

    def __init__(self, width: int, roof: int) -> None:
        self._width, self._roof = width, roof
        self._starts, self._tops = [0], [0]

    def lowest(self) -> Gap | None:
        """The lowest step, leftmost of equals; None when all have reached the roof."""
        starts, tops = self._starts, self._tops
        bottom = min(tops)
        if bottom >= self._roof:
            return None
        i = tops.index(bottom)
        start, before = starts[i], tops[i - 1] if i else self._roof
        if i + 1 == len(tops):
            return i, start, self._width - start, bottom, before, self._roof
        return i, start, starts[i + 1] - start, bottom, before, tops[i + 1]

    def lift(self, gap: Gap) -> None:
        """Give the gap up to its lower wall."""
        self._tops[gap[0]] = min(gap[4:])
        self._merge(gap[0])

    def put(self, gap: Gap, shape: Shape) -> int:
        """Lay ``shape`` against the higher wall; its x."""
        i, start, room, bottom, before, after = gap
        top = bottom + shape.height
        if shape.width == room:
            self._tops[i] = top
            self._merge(i)
            return start
        if before >= after:
            self._starts.insert(i + 1, start + shape.width)
            self._tops.insert(i, top)
            self._merge(i)
            return start
        at = start + room - shape.width
        self._starts.insert(i + 1, at)
        self._tops.insert(i + 1, top)
        self._merge(i + 1)
        return at

    def _merge(self, i: int) -> None:
        """Join step ``i`` with neighbours of its height."""
        starts, tops = self._starts, self._tops
        if i + 1 < len(tops) and tops[i + 1] == tops[i]:
            del starts[i + 1], tops[i + 1]
        if i and tops[i - 1] == tops[i]:
            del starts[i], tops[i]
