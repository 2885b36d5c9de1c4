"""Exact search for one number of copies: a layout, or the proof that there is none.

A layout is built from the bottom up. Its outline (heights of the columns) is the whole state, so
an outline met again with no less waste is dropped. What makes it fast is the measure: for each
split into straight and turned pieces there is mostly a pair of conservative scales that leaves no
waste at all, and on it only perfect packings need be looked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.blocks import floors, sums
from artcheck.pricing.layout.bounds import Measure, splits
from artcheck.pricing.layout.canonical import Placed, Problem, Scale, settle

STEPS_PER_OUTLINE = 4
"""An outline takes as long as about four steps of the block search ..."""

COLUMNS_PER_STEP = 20
"""... and one more for each twenty columns (measured)."""

ROUNDS_OUTLINES = (1_000, 10_000, 100_000)
"""Outlines for each split and measure, round by round: most proofs need a few hundred, so none of
the measures may hold up the others."""

WHOLE_TIMES = 20
"""How many times that the search over all splits at once gets: it is what finds layouts."""

MOST_MEASURES = 3
"""Measures tried for a split, the least wasteful first."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``placed`` holds a layout, in the problem's units; None with ``proven``: there is none."""

    placed: list[Placed] | None
    proven: bool


def pack(problem: Problem, bounds: list[Measure], copies: int, allowance: Allowance) -> Answer:
    """Place ``copies`` pieces, or prove that they do not fit.

    ``bounds`` are the problem's measures. A spent allowance gives an answer without proof.
    """
    whole = _Whole(problem, copies)
    searches: list[_Whole | _Split] = [
        _Split(problem, bounds, n, copies - n) for n in splits(bounds, copies)
    ]
    try:
        for outlines in ROUNDS_OUTLINES:
            for search in (*searches, whole):
                search.search(outlines, allowance)
                if search.placed is not None:
                    return Answer(search.placed, proven=True)
            searches = [search for search in searches if not search.impossible]
            if whole.impossible or not searches:
                return Answer(None, proven=True)
    except SpentError:
        pass
    return Answer(None, proven=False)


class _RoundOverError(Exception):
    """The measure has had its steps for the round."""


class _Whole:
    """All splits at once, in the problem's own lengths."""

    def __init__(self, problem: Problem, copies: int) -> None:
        self.placed: list[Placed] | None = None
        self.impossible = False
        sides = (
            Scale(problem.across, problem.a, problem.b),
            Scale(problem.down, problem.a, problem.b),
        )
        self._measure, self._copies = Measure(*sides), copies

    def search(self, outlines: int, allowance: Allowance) -> None:
        """Look at so many ``outlines``: sets ``placed`` or ``impossible`` when that decides."""
        either = (self._copies, self._copies)
        try:
            self.placed = _packing(
                self._measure, either, self._copies, allowance, outlines * WHOLE_TIMES
            )
        except _RoundOverError:
            return
        self.impossible = self.placed is None


class _Split:
    """So many straight and so many turned pieces, looked for on one measure after another."""

    def __init__(self, problem: Problem, bounds: list[Measure], straight: int, turned: int) -> None:
        self.placed: list[Placed] | None = None
        self.impossible = False
        self._problem, self._counts = problem, (straight, turned)
        useful = dict.fromkeys(m for m in bounds if m.straight and m.turned)
        self._measures = sorted(useful, key=self._looseness)[:MOST_MEASURES]

    def search(self, outlines: int, allowance: Allowance) -> None:
        """Look at so many ``outlines`` of each measure, until one decides.

        A measure without a packing rules the split out; one whose packing does not carry over
        says nothing and is dropped.
        """
        for measure in list(self._measures):
            try:
                placed = _packing(measure, self._counts, sum(self._counts), allowance, outlines)
            except _RoundOverError:
                continue
            self.impossible = placed is None
            self.placed = None if placed is None else _carried(placed, measure, self._problem)
            if self.impossible or self.placed is not None:
                return
            self._measures.remove(measure)

    def _looseness(self, measure: Measure) -> tuple[float, int]:
        return measure.waste(*self._counts) / measure.sheet, measure.sheet


Trail = tuple["Trail", int, int, int] | None
"""Pieces placed so far, the last first: (earlier ones, x, y, kind)."""

Outline = str
"""Heights of the columns, one character each: the quickest sequence of small numbers to copy, to
search and to hash."""

State = tuple[Outline, int, int, int, Trail]
"""Outline, pieces of either kind placed, waste that is certain by now, trail."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """Pieces of one kind in columns and rows of the measure."""

    width: int
    height: int
    count: int


class _Outlines:
    """The search on one measure, columns along its shorter side."""

    def __init__(self, columns: int, rows: int, kinds: tuple[_Kind, _Kind], spare: int) -> None:
        self._columns, self._rows, self._kinds, self._spare = columns, rows, kinds, spare
        across = sums(columns, kinds[0].width, kinds[1].width)
        down = sums(rows, kinds[0].height, kinds[1].height)
        self._next_x, self._next_y = _next_raster(across), _next_raster(down)
        self._row_waste = _short_of_sum(across)
        self._column_waste = _short_of_sum(down)[::-1]
        self._least = min(k.width for k in kinds if k.count)

    def search(self, copies: int, allowance: Allowance, outlines: int) -> Trail:
        """The trail of a packing of ``copies``; None when there is none."""
        certain = self._columns * self._column_waste[0]
        stack: list[State] = [(chr(0) * self._columns, 0, 0, certain, None)]
        least_waste: dict[tuple[Outline, int], int] = {}
        all_splits = self._kinds[0].count == copies == self._kinds[1].count
        steps = STEPS_PER_OUTLINE + self._columns // COLUMNS_PER_STEP
        while stack:
            allowance.spend(steps)
            outlines -= 1
            if outlines < 0:
                raise _RoundOverError
            for state in self._successors(stack.pop()):
                outline, first, second, waste, trail = state
                if first + second == copies:
                    return trail
                key = (outline, 0 if all_splits else first)
                if waste <= min(self._spare, least_waste.get(key, self._spare + 1) - 1):
                    least_waste[key] = waste
                    stack.append(state)
        return None

    def _successors(self, state: State) -> Iterator[State]:
        """Fill the lowest, leftmost gap: leave its corner empty, or put a piece there."""
        outline = state[0]
        lowest = min(outline)
        y, x = ord(lowest), outline.index(lowest)
        end = self._columns - len(outline[x:].lstrip(lowest))
        left = ord(outline[x - 1]) if x else self._rows
        wall = min(left, ord(outline[end]) if end < self._columns else self._rows)
        next_x, next_y = self._next_x, self._next_y
        if end - x < self._least:
            yield self._emptied(state, x, end, y, wall)
        elif self._too_wasteful(state[3], end - x, y, wall):
            return
        elif next_y[y] > y:
            yield self._emptied(state, x, end, y, min(next_y[y], wall))
        elif next_x[x] > x:
            yield self._emptied(state, x, min(next_x[x], end), y, left)
        else:
            yield self._emptied(state, x, min(next_x[x + 1], end), y, next_y[y + 1])
            yield from self._with_piece(state, x, y, end - x)

    def _too_wasteful(self, waste: int, width: int, bottom: int, top: int) -> bool:
        """Whether rows ``width`` long between two walls must waste more than is to spare."""
        above = waste - width * self._column_waste[bottom]
        return above + self._row_waste[width] * (top - bottom) > self._spare

    def _emptied(self, state: State, x: int, end: int, y: int, top: int) -> State:
        outline, first, second, waste, trail = state
        columns = self._column_waste
        waste += (end - x) * (top - y + columns[top] - columns[y])
        risen = outline[:x] + chr(top) * (end - x) + outline[end:]
        return risen, first, second, waste, trail

    def _left_valley(self, outline: Outline, x: int, top: int, waste: int) -> bool:
        """Whether a piece up to ``top`` walls in a step on its left that wastes too much."""
        bottom = ord(outline[x - 1])
        if top <= bottom:
            return False
        start = len(outline[:x].rstrip(outline[x - 1]))
        wall = ord(outline[start - 1]) if start else self._rows
        return wall > bottom and self._too_wasteful(waste, x - start, bottom, min(wall, top))

    def _with_piece(self, state: State, x: int, y: int, gap: int) -> Iterator[State]:
        outline, first, second, waste, trail = state
        columns = self._column_waste
        for index, kind in enumerate(self._kinds):
            top = y + kind.height
            placed = second if index else first
            if kind.width <= gap and top <= self._rows and placed < kind.count:
                risen = outline[:x] + chr(top) * kind.width + outline[x + kind.width :]
                counts = (first, second + 1) if index else (first + 1, second)
                certain = waste + kind.width * (columns[top] - columns[y])
                if x and self._left_valley(outline, x, top, certain):
                    continue
                yield risen, *counts, certain, (trail, x, y, index)


def _next_raster(found: Sequence[bool]) -> list[int]:
    """For each place 0 ... length the first raster point there or later (else the length)."""
    length = len(found) - 1
    floor = floors(found)
    raster = {floor[length - n] for n, is_sum in enumerate(found) if is_sum}
    following, out = length, []
    for place in range(length, -1, -1):
        following = place if place in raster else following
        out.append(following)
    return out[::-1]


def _short_of_sum(found: Sequence[bool]) -> list[int]:
    """For each length what stays empty when sums fill it as well as they can."""
    return [n - full for n, full in enumerate(floors(found))]


def _packing(
    measure: Measure, most: tuple[int, int], copies: int, allowance: Allowance, outlines: int
) -> list[Placed] | None:
    """A packing of ``copies``, at ``most`` so many of either kind; None: there is none.

    Where ``most`` leaves the split open both kinds must cover the same area.
    """
    across, down = measure.across, measure.down
    upright = across.length <= down.length
    sides = ((across.a, down.b), (across.b, down.a))
    kinds = [
        _Kind(*(side if upright else side[::-1]), count)
        for side, count in zip(sides, most, strict=True)
    ]
    spare = measure.waste(most[0], copies - most[0])
    columns, rows = sorted((across.length, down.length))
    allowance.spend(rows)
    search = _Outlines(columns, rows, (kinds[0], kinds[1]), spare)
    placed = [(x, y, bool(k)) for x, y, k in _unwound(search.search(copies, allowance, outlines))]
    if not placed:
        return None
    return placed if upright else [(y, x, turned) for x, y, turned in placed]


def _unwound(trail: Trail) -> Iterator[tuple[int, int, int]]:
    while trail is not None:
        trail, x, y, kind = trail
        yield x, y, kind


def _carried(placed: list[Placed], measure: Measure, problem: Problem) -> list[Placed] | None:
    """The packing in the problem's lengths; None when a chain is too long there."""
    sides = (problem.a, problem.b)
    columns = settle(
        ((x, turned) for x, _, turned in placed), (measure.across.a, measure.across.b), sides
    )
    rows = settle(
        ((y, not turned) for _, y, turned in placed), (measure.down.a, measure.down.b), sides
    )
    moved = [(columns[x], rows[y], turned) for x, y, turned in placed]
    fits = all(
        x + sides[turned] <= problem.across and y + sides[not turned] <= problem.down
        for x, y, turned in moved
    )
    return moved if fits else None
