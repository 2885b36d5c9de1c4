"""Which designs to gang at all: the division into gangs that costs least."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from artcheck.errors import UsageError
from artcheck.pricing.gangs.designs import Design
from artcheck.pricing.gangs.replicated import Cost, ReplicatedGang, replicated_gang
from artcheck.pricing.layout.lengths import Length, Size

MOST_DIVIDED = 6
"""Designs up to which every division is priced (64 gangs); of more, neighbours in quantity are
ganged: the fewer copies are left over the nearer the quantities lie."""

DIVISION_BUDGET_S = 3.0
"""Seconds of search for all gangs that are priced, in equal parts."""


@dataclass(frozen=True, slots=True)
class GangPlan:
    """Gangs that together make the order, what they cost, and what each design alone would."""

    gangs: tuple[ReplicatedGang, ...]
    cost: Decimal
    cost_alone: Decimal | None

    @property
    def saving(self) -> Decimal | None:
        """Money that ganging saves; None where some design has no layout alone."""
        return None if self.cost_alone is None else self.cost_alone - self.cost


def cheapest_gangs(
    designs: Sequence[Design],
    sheet: Size,
    gutter: Length = 0,
    margin: Length = 0,
    *,
    cost: Cost,
    time_budget_s: float = DIVISION_BUDGET_S,
) -> GangPlan:
    """Divide the designs into gangs of one layout, or all on two layouts, as money decides.

    Whether designs of different inks share a sheet is a matter of ``cost``, which sees all inks
    of a layout.

    Parameters
    ----------
    designs, sheet, gutter, margin, cost
        As in `replicated_gang`.
    time_budget_s
        Search time for all gangs together, counted in steps.

    Raises
    ------
    UsageError
        A size or quantity that cannot be used.
    """
    ordered = sorted(designs, key=lambda design: (sorted(design.inks), -design.quantity))
    n = len(ordered)
    gangs = 1 << n if n <= MOST_DIVIDED else n * (n + 1) // 2
    prices = _Prices(ordered, sheet, gutter, margin, cost, time_budget_s / gangs)
    plan = prices.divided()
    alone = [prices.gang(1 << i) for i in range(n)]
    cost_alone = sum((gang.cost or Decimal(0) for gang in alone if gang), Decimal(0))
    together = prices.on_two_layouts() if n <= MOST_DIVIDED else None
    if together is not None and together.cost is not None and together.cost < _total(plan):
        plan = (together,)
    return GangPlan(plan, _total(plan), cost_alone if all(alone) else None)


def _total(gangs: Sequence[ReplicatedGang]) -> Decimal:
    return sum((gang.cost or Decimal(0) for gang in gangs), Decimal(0))


class _Prices:
    """Gangs by the set of their designs, a bit for each; made when first asked for."""

    def __init__(
        self,
        designs: Sequence[Design],
        sheet: Size,
        gutter: Length,
        margin: Length,
        cost: Cost,
        seconds: float,
    ) -> None:
        self._designs, self._sheet = designs, sheet
        self._gutter, self._margin = gutter, margin
        self._cost, self._seconds = cost, seconds
        self._gangs: dict[int, ReplicatedGang | None] = {}

    def gang(self, chosen: int) -> ReplicatedGang | None:
        """These designs on one layout; None where they do not fit together."""
        if chosen not in self._gangs:
            self._gangs[chosen] = self._made(chosen, most_layouts=1)
        return self._gangs[chosen]

    def on_two_layouts(self) -> ReplicatedGang | None:
        """All designs on at most two layouts."""
        return self._made((1 << len(self._designs)) - 1, most_layouts=2)

    def divided(self) -> tuple[ReplicatedGang, ...]:
        """The cheapest division: best for every set, from its first design's gang and the rest."""
        everything = (1 << len(self._designs)) - 1
        best: dict[int, tuple[ReplicatedGang, ...]] = {0: ()}
        for rest in self._rests(everything):
            options = [
                (gang, *best[rest ^ part])
                for part in self._parts(rest)
                if (gang := self.gang(part)) is not None and rest ^ part in best
            ]
            if options:
                best[rest] = min(options, key=lambda gangs: (_total(gangs), len(gangs)))
        return best[everything]

    def _rests(self, everything: int) -> Iterator[int]:
        """Sets still to be divided, smaller ones first."""
        if len(self._designs) <= MOST_DIVIDED:
            yield from range(1, everything + 1)
        else:
            yield from ((1 << n) - 1 for n in range(1, len(self._designs) + 1))

    def _parts(self, rest: int) -> Iterator[int]:
        """Gangs that hold the last design of ``rest``."""
        last = 1 << (rest.bit_length() - 1)
        if len(self._designs) > MOST_DIVIDED:
            yield from (rest & ~((1 << n) - 1) for n in range(rest.bit_length()))
            return
        others = rest ^ last
        some = others
        while True:
            yield some | last
            if not some:
                return
            some = (some - 1) & others

    def _made(self, chosen: int, most_layouts: int) -> ReplicatedGang | None:
        designs = [design for i, design in enumerate(self._designs) if chosen >> i & 1]
        try:
            return replicated_gang(
                designs,
                self._sheet,
                self._gutter,
                self._margin,
                most_layouts=most_layouts,
                cost=self._cost,
                time_budget_s=self._seconds,
            )
        except UsageError:
            if len(designs) == 1:
                raise
            return None
