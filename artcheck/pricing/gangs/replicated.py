"""Sheets printed all alike: copies of each design on one layout or two, for the least money."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal

from artcheck.errors import UsageError
from artcheck.pricing.gangs.designs import Design, GangSheet, Grid
from artcheck.pricing.gangs.packer import Counts, Packer
from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.dual import least_sheets
from artcheck.pricing.layout.lengths import Length, Size
from artcheck.pricing.layout.mixed import Piece

REPLICATED_BUDGET_S = 2.0
"""Seconds of search: most orders take some hundredths; many small pieces take all of it."""

EFFORTS = (1, 5, 25)
"""How hard the packer tries: first all questions briefly, then the open ones longer."""

ONE_SHARE = 0.5
"""Part of the search that one layout may take where two are allowed."""

MOST_SHEETS_FOR_TWO = 300
"""Sheets of a run up to which every division into two runs is looked at; larger orders look only
at runs in which some design comes out even."""

Cost = Callable[[int, frozenset[str]], Decimal]
"""What at least so many sheets of one layout with these inks cost at the cheapest, set-up within;
it must not fall when more sheets are needed."""


@dataclass(frozen=True, slots=True)
class Run:
    """One layout and how many sheets are printed of it."""

    sheets: int
    layout: GangSheet


@dataclass(frozen=True, slots=True)
class ReplicatedGang:
    """Runs that together hold every design often enough.

    ``lower_bound``: no gang of as many layouts does with fewer sheets. ``proven``: no gang of at
    most as many layouts as were allowed costs less (takes fewer sheets, where no cost was given).
    ``cost`` is None where no cost was given.
    """

    runs: tuple[Run, ...]
    lower_bound: int
    proven: bool
    cost: Decimal | None

    @property
    def sheets(self) -> int:
        """Sheets of all runs."""
        return sum(run.sheets for run in self.runs)


@dataclass(frozen=True, slots=True)
class _Plan:
    """Sheets and pieces of each run, and what they cost."""

    runs: tuple[tuple[int, list[Piece]], ...]
    cost: Decimal


def replicated_gang(
    designs: Sequence[Design],
    sheet: Size,
    gutter: Length = 0,
    margin: Length = 0,
    *,
    most_layouts: int = 1,
    cost: Cost | None = None,
    time_budget_s: float = REPLICATED_BUDGET_S,
) -> ReplicatedGang:
    """Copies of each design on one layout, or two, so that the money (else the sheets) is least.

    On S sheets a design needs ``ceil(quantity / S)`` copies: S rises until these fit.

    Parameters
    ----------
    designs, sheet, gutter, margin
        In inches, as in `roll_gang`.
    most_layouts
        1 or 2. A second layout is taken only where it costs less in all.
    cost
        Price of a run; None: sheets are counted.
    time_budget_s
        Search time, counted in steps.

    Raises
    ------
    UsageError
        A size or quantity that cannot be used, or designs that do not fit together on so few
        layouts.
    """
    grid = Grid(designs, sheet, gutter, margin)
    search = _Gangs(grid, cost, Allowance(time_budget_s))
    several = most_layouts > 1 and len(designs) > 1
    best, bound, proven = search.one_layout(ONE_SHARE if several else 1)
    if several:
        one, surely_one = best, proven
        best, proven = search.two_layouts(one)
        proven = proven and (surely_one or best is not one)
    if best is None:
        raise UsageError(
            f"{len(designs)} designs do not fit on {most_layouts} layout"
            f"{'s' if most_layouts > 1 else ''} together, or not in the time given."
            " Print them on more layouts."
        )
    return ReplicatedGang(
        runs=tuple(Run(n, grid.sheet_with(pieces)) for n, pieces in best.runs),
        lower_bound=bound if len(best.runs) == 1 else search.fewest,
        proven=proven,
        cost=None if cost is None else best.cost,
    )


@dataclass(slots=True)
class _Halving:
    """Numbers of sheets: all before ``impossible`` are, ``fits`` is the first known to do."""

    numbers: list[int]
    fits: int
    impossible: int = 0
    found: list[Piece] | None = None


class _Gangs:
    """The searches for one set of designs."""

    def __init__(self, grid: Grid, cost: Cost | None, allowance: Allowance) -> None:
        self._grid, self._cost = grid, cost
        self._packer = Packer(grid, allowance)
        self._quantities = grid.counts
        self._most = [self._packer.alone(i)[1] for i in range(len(grid.kinds))]
        self.fewest = max(
            math.ceil(least_sheets(grid.room, grid.kinds, grid.counts)),
            *(-(-q // most) for q, most in zip(grid.counts, self._most, strict=True)),
        )

    # --- one layout ---

    def one_layout(self, share: float = 1) -> tuple[_Plan | None, int, bool]:
        """The plan, the sheets below which there is none, and whether that is its number.

        More sheets ask for fewer copies, so the first number that fits is found by halving.
        ``share`` of the allowance may be used.
        """
        numbers = [n for n in self._even_runs() if n >= self.fewest]
        halving = _Halving(numbers, len(numbers))
        whole, self._packer.allowance = self._packer.allowance, self._packer.allowance.lend(share)
        with suppress(SpentError):
            for effort in EFFORTS:
                self._packer.try_harder(effort)
                self._halve(halving)
                if halving.impossible == halving.fits:
                    break
        whole.take_back(self._packer.allowance)
        self._packer.allowance = whole
        return self._one(halving)

    def _halve(self, halving: _Halving) -> None:
        """Ask for the middle number until one fits and the one before it does not."""
        low = halving.impossible
        while low < halving.fits:
            middle = (low + halving.fits) // 2
            answer = self._packer.pack(_needs(self._quantities, halving.numbers[middle]))
            if answer.pieces is not None:
                halving.fits, halving.found = middle, answer.pieces
            else:
                low = middle + 1
                halving.impossible = low if answer.proven else halving.impossible

    def _one(self, halving: _Halving) -> tuple[_Plan | None, int, bool]:
        proven = halving.impossible == halving.fits
        if halving.found is None:
            return None, self.fewest, proven
        runs = ((halving.numbers[halving.fits], halving.found),)
        return _Plan(runs, self._price(runs)), halving.numbers[halving.impossible], proven

    def _even_runs(self) -> list[int]:
        """Numbers of sheets at which some design needs a copy less."""
        pairs = zip(self._quantities, self._most, strict=True)
        return sorted({-(-q // k) for q, most in pairs for k in range(1, min(q, most) + 1)})

    # --- two layouts ---

    def two_layouts(self, one: _Plan | None) -> tuple[_Plan | None, bool]:
        """The cheaper of ``one`` and the best pair of runs, and whether that is proven.

        Pairs are tried in the order of their price, so the first that can be laid out is the best.
        """
        most = max(self._quantities) if one is None else one.runs[0][0]
        best, proven = one, False
        with suppress(SpentError):
            pairs = self._pairs(most)
            for effort in EFFORTS:
                self._packer.try_harder(effort)
                for better, sure in self._better_pairs(pairs, best):
                    best, proven = better, sure
                if proven:
                    break
        return best, proven and most <= MOST_SHEETS_FOR_TWO

    def _better_pairs(
        self, pairs: Sequence[tuple[Decimal, int, int]], best: _Plan | None
    ) -> Iterator[tuple[_Plan | None, bool]]:
        """Each better plan as it is found, and at last the best with whether it is proven."""
        impossible: list[tuple[int, int]] = []
        proven = True
        for price, first, second in pairs:
            if best is not None and price >= best.cost:
                break
            if any(first <= a and second <= b for a, b in impossible):
                continue
            plan, sure = self._pair(first, second)
            proven = proven and sure
            if plan is None and sure:
                impossible.append((first, second))
            if plan is not None and (best is None or plan.cost < best.cost):
                best = plan
                yield best, False
        yield best, proven

    def _pairs(self, most: int) -> list[tuple[Decimal, int, int]]:
        """(least price, sheets of the longer run, of the shorter), the cheapest first."""
        numbers = range(1, most + 1) if most <= MOST_SHEETS_FOR_TWO else self._even_runs()
        inks = {design.inks for design in self._grid.designs}
        least = {n: min(self._price_of(n, some) for some in inks) for n in numbers}
        self._packer.allowance.spend(len(numbers) ** 2)
        return sorted(
            (
                (least[a] + least[b], a, b)
                for a in numbers
                for b in numbers
                if b <= a and a + b >= self.fewest
            ),
            key=lambda pair: (pair[0], pair[1] + pair[2], pair[1]),
        )

    def _pair(self, first: int, second: int) -> tuple[_Plan | None, bool]:
        """The cheapest layouts for runs of so many sheets; without one, whether there is none."""
        best, sure = None, True
        alike = len({design.inks for design in self._grid.designs}) == 1
        for counts, others in self._divisions(first, second):
            answer = self._packer.pack(counts)
            other = self._packer.pack(others) if answer.pieces is not None else answer
            if answer.pieces is None or other.pieces is None:
                sure = sure and answer.proven and other.proven
                continue
            runs = ((first, answer.pieces), (second, other.pieces))
            plan = _Plan(runs, self._price(runs))
            if best is None or plan.cost < best.cost:
                best = plan
            if alike:
                break
        return best, sure

    def _divisions(self, first: int, second: int) -> Iterator[tuple[Counts, Counts]]:
        """Copies on either layout that make up the quantities, design after design."""
        choices = [
            self._choices(quantity, most, first, second)
            for quantity, most in zip(self._quantities, self._most, strict=True)
        ]
        nothing = (0,) * len(choices)

        def extended(i: int, counts: Counts, others: Counts) -> Iterator[tuple[Counts, Counts]]:
            self._packer.allowance.spend()
            if min(self._packer.area_left(counts), self._packer.area_left(others)) < 0:
                return
            if i == len(choices):
                yield counts, others
                return
            for n, m in choices[i]:
                yield from extended(i + 1, _with(counts, i, n), _with(others, i, m))

        yield from extended(0, nothing, nothing)

    def _choices(self, quantity: int, most: int, first: int, second: int) -> list[tuple[int, int]]:
        """(copies on the first layout, on the second) for one design; none has one to spare."""
        pairs = {}
        for n in range(min(most, -(-quantity // first)), -1, -1):
            m = max(0, -(-(quantity - n * first) // second))
            if m <= most:
                pairs[m] = n
        return [(n, m) for m, n in pairs.items()]

    # --- money ---

    def _price(self, runs: Sequence[tuple[int, list[Piece]]]) -> Decimal:
        return sum((self._price_of(n, self._inks_of(pieces)) for n, pieces in runs), Decimal(0))

    def _price_of(self, sheets: int, inks: frozenset[str]) -> Decimal:
        return Decimal(sheets) if self._cost is None else self._cost(sheets, inks)

    def _inks_of(self, pieces: Sequence[Piece]) -> frozenset[str]:
        kinds = {shape.kind for _, _, shape in pieces}
        return frozenset().union(*(self._grid.designs[kind].inks for kind in kinds))


def _needs(quantities: Sequence[int], sheets: int) -> Counts:
    return tuple(-(-quantity // sheets) for quantity in quantities)


def _with(counts: Counts, i: int, n: int) -> Counts:
    return (*counts[:i], n, *counts[i + 1 :])
