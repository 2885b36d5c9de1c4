"""Gangs as they are bought from a price list, with what rides along free in the leftover space."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from artcheck.domain.check import CostLine
from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.pricing.gangs.designs import Design, GangSheet
from artcheck.pricing.gangs.free import ROLL_BUDGET_S, roll_gang
from artcheck.pricing.gangs.leftover import fill_leftover
from artcheck.pricing.gangs.money import GangPlan, cheapest_gangs
from artcheck.pricing.job import Money
from artcheck.pricing.purchase import Purchase, roll_run, sheet_run
from artcheck.pricing.tariffs import INCHES_PER_FOOT

NO_PRICE = Decimal("Infinity")
"""Stands for the price of a run with more inks than the list knows: any other is cheaper."""


@dataclass(frozen=True, slots=True)
class Laid:
    """One layout and what its sheets (its length of roll) cost.

    The first ``paid`` placements were ordered; those after them ride along. It is printed
    ``times``: a length of roll once.
    """

    sheet: GangSheet
    paid: int
    times: int
    bought: Purchase


@dataclass(frozen=True, slots=True)
class BoughtGang:
    """Layouts that together hold the order. ``lower_bound`` counts what they are bought by."""

    laid: tuple[Laid, ...]
    lower_bound: int
    proven: bool

    @property
    def total(self) -> Decimal:
        """The sum of all lines."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def lines(self) -> tuple[CostLine, ...]:
        """Every layout's lines, numbered where there are several."""
        if len(self.laid) == 1:
            return self.laid[0].bought.lines
        return tuple(
            line.model_copy(update={"what": f"layout {number}: {line.what}"})
            for number, laid in enumerate(self.laid, 1)
            for line in laid.bought.lines
        )

    @property
    def needed(self) -> int:
        """Sheets, or begun feet, that hold the order."""
        return sum(laid.bought.needed for laid in self.laid)

    @property
    def bought(self) -> int:
        """Sheets, or begun feet, that are bought."""
        return sum(laid.bought.bought for laid in self.laid)


def sheets_ganged(
    price: PerSheet,
    designs: Sequence[Design],
    fillers: Sequence[Design],
    money: Money,
    *,
    mixed: frozenset[str] = frozenset(),
    underbase: bool = False,
) -> BoughtGang:
    """The designs on sheets printed alike, divided into gangs as money decides.

    Parameters
    ----------
    mixed
        Inks that are mixed to order and pay for it, once in each layout.
    underbase
        White comes under every layout; it pays as an ink where the list says so.

    Raises
    ------
    UsageError
        A design does not fit on the sheet, or there are too many.
    """
    prices = SheetPrices(price, money, mixed, underbase)
    plan = cheapest_gangs(
        designs, price.sheet_in, price.gutter_in, price.margin_in, cost=prices.cost
    )
    return prices.bought(plan, fillers)


@dataclass(frozen=True, slots=True)
class SheetPrices:
    """What layouts of a spot sheet cost; ``mixed`` and ``underbase`` as in `sheets_ganged`.

    A search asks for the same few runs again and again: their costs are ``kept``.
    """

    price: PerSheet
    money: Money
    mixed: frozenset[str]
    underbase: bool
    kept: dict[tuple[int, frozenset[str]], Decimal] = field(default_factory=dict)

    def cost(self, sheets: int, inks: frozenset[str]) -> Decimal:
        """At least so many sheets with these inks; `NO_PRICE` where the list knows none."""
        key = sheets, inks
        if key not in self.kept:
            known = len(inks) + self._extra in self.price.by_inks
            self.kept[key] = self._run(sheets, inks).total if known else NO_PRICE
        return self.kept[key]

    def bought(self, plan: GangPlan, fillers: Sequence[Design]) -> BoughtGang:
        """The plan's layouts, their free space filled, and their bills."""
        runs = [part for gang in plan.gangs for part in gang.runs]
        bought = [self._run(part.sheets, part.layout.inks) for part in runs]
        return BoughtGang(
            laid=tuple(
                Laid(
                    fill_leftover(part.layout, fillers),
                    len(part.layout.placements),
                    sheets.bought,
                    sheets,
                )
                for part, sheets in zip(runs, bought, strict=True)
            ),
            lower_bound=sum(gang.lower_bound for gang in plan.gangs),
            proven=all(gang.proven for gang in plan.gangs),
        )

    @property
    def _extra(self) -> int:
        return int(self.underbase and self.price.underbase_is_an_ink)

    def _run(self, sheets: int, inks: frozenset[str]) -> Purchase:
        plates = len(inks) + self._extra
        return sheet_run(self.price, sheets, plates, len(inks & self.mixed), self.money)


def roll_ganged(
    price: PerRoll,
    designs: Sequence[Design],
    fillers: Sequence[Design],
    money: Money,
    time_budget_s: float = ROLL_BUDGET_S,
) -> BoughtGang:
    """The designs, each as often as ordered, on one length of roll; the begun foot is filled.

    Raises
    ------
    UsageError
        A design is wider than the roll, or there are too many pieces.
    """
    gang = roll_gang(designs, price.width_in, price.gutter_in, time_budget_s=time_budget_s)
    bought = roll_run(price, gang.length_in, money)
    least = roll_run(price, gang.lower_bound_in, money).bought
    length_in = max(float(bought.bought * INCHES_PER_FOOT), gang.length_in)
    paid = gang.layout.placements
    whole = replace(gang.layout, sheet_in=(gang.layout.sheet_in[0], length_in))
    return BoughtGang(
        laid=(Laid(fill_leftover(whole, fillers), len(paid), 1, bought),),
        lower_bound=least,
        proven=bought.bought == least,
    )
