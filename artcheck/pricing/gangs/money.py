"""Which designs to gang at all: the division into gangs that costs least."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
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
    n = len(designs)
    gangs = 1 << n if n <= MOST_DIVIDED else n * (n + 1) // 2
    return Gangs(sheet, gutter, margin, cost, time_budget_s / gangs).plan(designs)


def _total(gangs: Sequence[ReplicatedGang]) -> Decimal:
    return sum((gang.cost or Decimal(0) for gang in gangs), Decimal(0))


@dataclass(frozen=True, slots=True)
class _Division:
    """Gangs, and the designs that are bought elsewhere at ``beside``."""

    gangs: tuple[ReplicatedGang, ...] = ()
    elsewhere: tuple[Design, ...] = ()
    beside: Decimal = Decimal(0)

    @property
    def order(self) -> tuple[Decimal, int]:
        """The cheaper is better, then that of fewer gangs."""
        return _total(self.gangs) + self.beside, len(self.gangs)

    def with_gang(self, gang: ReplicatedGang) -> _Division:
        return replace(self, gangs=(gang, *self.gangs))

    def without(self, design: Design, amount: Decimal) -> _Division:
        return replace(self, elsewhere=(*self.elsewhere, design), beside=self.beside + amount)


class Gangs:
    """Gangs on one kind of sheet by their designs, each made when first asked for and kept."""

    def __init__(
        self, sheet: Size, gutter: Length, margin: Length, cost: Cost, seconds_each: float
    ) -> None:
        self._sheet, self._gutter, self._margin = sheet, gutter, margin
        self._cost, self._seconds = cost, seconds_each
        self._kept: dict[tuple[tuple[Design, ...], int], ReplicatedGang | None] = {}

    def plan(self, designs: Sequence[Design]) -> GangPlan:
        """The cheapest division of all designs, or all of them on two layouts.

        Raises
        ------
        UsageError
            A size or quantity that cannot be used.
        """
        ordered = _ordered(designs)
        gangs = self._divided(ordered, {}).gangs
        alone = [self._gang((design,)) for design in ordered]
        cost_alone = sum((gang.cost or Decimal(0) for gang in alone if gang), Decimal(0))
        together = self._gang(ordered, most_layouts=2) if len(ordered) <= MOST_DIVIDED else None
        if together is not None and together.cost is not None and together.cost < _total(gangs):
            gangs = (together,)
        return GangPlan(gangs, _total(gangs), cost_alone if all(alone) else None)

    def worth_it(
        self, designs: Sequence[Design], elsewhere: Mapping[Design, Decimal]
    ) -> tuple[Design, ...]:
        """The designs to print here where each may be had ``elsewhere`` at its price."""
        left = self._divided(_ordered(designs), elsewhere).elsewhere
        return tuple(design for design in designs if design not in left)

    def _divided(self, designs: Sequence[Design], elsewhere: Mapping[Design, Decimal]) -> _Division:
        """The cheapest division: best for every set, from its last design's gang and the rest."""
        everything = (1 << len(designs)) - 1
        best = {0: _Division()}
        for rest in _rests(len(designs)):
            last = designs[rest.bit_length() - 1]
            options = [
                best[rest ^ part].with_gang(gang)
                for part in _parts(rest, len(designs))
                if (gang := self._gang(_chosen(designs, part))) is not None and rest ^ part in best
            ]
            before = best.get(rest ^ (1 << rest.bit_length() - 1))
            if last in elsewhere and before is not None:
                options.append(before.without(last, elsewhere[last]))
            if options:
                best[rest] = min(options, key=lambda option: option.order)
        return best[everything]

    def _gang(self, designs: tuple[Design, ...], most_layouts: int = 1) -> ReplicatedGang | None:
        """These designs on so many layouts; None where they do not fit together."""
        key = designs, most_layouts
        if key not in self._kept:
            self._kept[key] = self._made(designs, most_layouts)
        return self._kept[key]

    def _made(self, designs: Sequence[Design], most_layouts: int) -> ReplicatedGang | None:
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


def _ordered(designs: Sequence[Design]) -> tuple[Design, ...]:
    return tuple(sorted(designs, key=lambda design: (sorted(design.inks), -design.quantity)))


def _chosen(designs: Sequence[Design], chosen: int) -> tuple[Design, ...]:
    return tuple(design for i, design in enumerate(designs) if chosen >> i & 1)


def _rests(count: int) -> Iterator[int]:
    """Sets still to be divided, a bit for each design, smaller ones first."""
    if count <= MOST_DIVIDED:
        yield from range(1, 1 << count)
    else:
        yield from ((1 << n) - 1 for n in range(1, count + 1))


def _parts(rest: int, count: int) -> Iterator[int]:
    """Gangs that hold the last design of ``rest``."""
    last = 1 << (rest.bit_length() - 1)
    if count > MOST_DIVIDED:
        yield from (rest & ~((1 << n) - 1) for n in range(rest.bit_length()))
        return
    others = rest ^ last
    some = others
    while True:
        yield some | last
        if not some:
            return
        some = (some - 1) & others
