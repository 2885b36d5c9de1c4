"""Whether so many copies of each design fit on one sheet, asked again and again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from artcheck.pricing.gangs.designs import Grid
from artcheck.pricing.layout.alike import pack_alike
from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.canonical import Problem
from artcheck.pricing.layout.climb import Rows, climb, starts
from artcheck.pricing.layout.constraints import solve
from artcheck.pricing.layout.dual import least_sheets
from artcheck.pricing.layout.exact import search
from artcheck.pricing.layout.mixed import STEPS_PER_PIECE, Filled, Piece, Shape, fill, shapes_of

ALONE_S = 0.05
"""Seconds of search for copies of one design alone."""

TRIES_STEPS = 4_000
"""Steps of trying likings for one set: up to a hundred layouts."""

EXACT_STEPS = 60_000
"""Steps of own exact search for one set: sets of a dozen pieces mostly need less."""

SOLVER_STEPS = 200_000
"""Steps for the constraint solver after that: a tenth of a second."""

MOST_FOR_SOLVER = 14
"""Pieces up to which the solver is asked: of more it decided none in twenty seconds (measured on
forty random orders), while eight took it a twentieth of a second."""

Counts = tuple[int, ...]
"""Copies of each design."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``pieces`` of a layout, None where none was found; ``proven``: then there is none."""

    pieces: list[Piece] | None
    proven: bool


@dataclass(frozen=True, slots=True)
class _Try:
    filled: Filled

    @property
    def score(self) -> tuple[float, ...]:
        return (-sum(s.width * s.height for _, _, s in self.filled.pieces),)


class Packer:
    """Answers for one sheet, remembered: with a set that fits fit all its parts, and so on."""

    def __init__(self, grid: Grid, allowance: Allowance) -> None:
        self.allowance = allowance
        self._grid = grid
        self._shapes = shapes_of(grid.kinds, *grid.room)
        self._areas = [kind.width * kind.height for kind in grid.kinds]
        self._fitting: dict[Counts, list[Piece]] = {}
        self._impossible: list[Counts] = []
        self._unknown: set[Counts] = set()
        self._effort = 1
        self.alone = cache(self._alone)

    def pack(self, counts: Counts) -> Answer:
        """A layout of ``counts``, the proof that there is none, or neither.

        Raises
        ------
        SpentError
            The allowance of all questions together is used up.
        """
        self.allowance.spend(1 + len(self._fitting) + len(self._impossible))
        known = self._known(counts)
        if known is not None:
            return known
        answer = self._decided(counts)
        if answer.pieces is not None:
            self._fitting[counts] = answer.pieces
        elif answer.proven:
            self._impossible = [c for c in self._impossible if not _covers(c, counts)]
            self._impossible.append(counts)
        else:
            self._unknown.add(counts)
        return answer

    def try_harder(self, effort: int) -> None:
        """Give each question ``effort`` times the usual search, those open till now as well."""
        self._effort = effort
        self._unknown.clear()

    def area_left(self, counts: Counts) -> int:
        """Area of the sheet beside ``counts``; negative: they cannot fit."""
        room = self._grid.room[0] * self._grid.room[1]
        return room - sum(n * area for n, area in zip(counts, self._areas, strict=True))

    def _known(self, counts: Counts) -> Answer | None:
        if self.area_left(counts) < 0 or any(_covers(counts, c) for c in self._impossible):
            return Answer(None, proven=True)
        for more, pieces in self._fitting.items():
            if _covers(more, counts):
                return Answer(_first(pieces, counts), proven=True)
        return Answer(None, proven=False) if counts in self._unknown else None

    def _decided(self, counts: Counts) -> Answer:
        if any(n > self.alone(i)[1] for i, n in enumerate(counts)):
            return Answer(None, proven=True)
        pieces = self._single(counts) or self._tried(counts, 0)
        if pieces is not None:
            return Answer(pieces, proven=True)
        if least_sheets(self._grid.room, self._grid.kinds, counts) > 1:
            return Answer(None, proven=True)
        pieces = self._tried(counts, TRIES_STEPS * self._effort)
        if pieces is not None:
            return Answer(pieces, proven=True)
        return self._searched(counts)

    def _alone(self, design: int) -> tuple[list[Piece], int]:
        """The most copies of one design alone: a layout and a bound."""
        kind = self._grid.kinds[design]
        problem = Problem(*self._grid.room, kind.width, kind.height)
        placed, most = pack_alike(problem, kind.turns, ALONE_S)
        sides = (kind.width, kind.height)
        return [
            (x, y, Shape(sides[turned], sides[not turned], design, turned))
            for x, y, turned in placed
        ], most

    def _single(self, counts: Counts) -> list[Piece] | None:
        """Where only one design is wanted and its own layout holds enough."""
        wanted = [i for i, n in enumerate(counts) if n]
        if len(wanted) != 1:
            return None
        pieces = self.alone(wanted[0])[0]
        return _first(pieces, counts) if len(pieces) >= counts[wanted[0]] else None

    def _tried(self, counts: Counts, steps: int) -> list[Piece] | None:
        """The starts alone when ``steps`` is 0."""
        shapes = [shape for shape in self._shapes if counts[shape.kind]]
        cost = STEPS_PER_PIECE * sum(counts)
        beginnings = starts(shapes, 1)
        allowance = Allowance(0, least=max(steps, cost * len(beginnings)))
        self.allowance.spend(allowance.left)

        def decode(rows: Rows) -> _Try:
            allowance.spend(cost)
            return _Try(fill(self._grid.room, shapes, counts, rows))

        best = climb(beginnings, decode, lambda t: not any(t.filled.left))
        return None if any(best.filled.left) else best.filled.pieces

    def _searched(self, counts: Counts) -> Answer:
        """The own search for tight sets, the solver for loose ones of few pieces."""
        ways = [(search, EXACT_STEPS)]
        if sum(counts) <= MOST_FOR_SOLVER:
            ways.append((solve, SOLVER_STEPS))
        for decide, steps in ways:
            lent = Allowance(0, least=min(steps * self._effort, self.allowance.left))
            before = lent.left
            try:
                return Answer(decide(self._grid.room, self._grid.kinds, counts, lent), proven=True)
            except SpentError:
                continue
            finally:
                self.allowance.spend(before - max(lent.left, 0))
        return Answer(None, proven=False)


def _covers(more: Iterable[int], less: Iterable[int]) -> bool:
    return all(a >= b for a, b in zip(more, less, strict=True))


def _first(pieces: Sequence[Piece], counts: Counts) -> list[Piece]:
    """So many pieces of each kind out of a layout that has more."""
    left, kept = list(counts), []
    for piece in pieces:
        kind = piece[2].kind
        if left[kind]:
            left[kind] -= 1
            kept.append(piece)
    return kept
