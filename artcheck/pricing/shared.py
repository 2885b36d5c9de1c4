"""Designs of one order on shared sheets or one roll, where that makes the order cheaper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from artcheck.domain.check import CostLine, SharedLayout, SharedPlace
from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.domain.shop import Method, PriceRules
from artcheck.errors import UsageError
from artcheck.pricing.job import Money
from artcheck.pricing.lots import Decoration, arrived_together, landed_cost, lots_of
from artcheck.pricing.purchase import Purchase

if TYPE_CHECKING:  # imported when designs are laid out: an order of one print needs none of it
    from artcheck.pricing.gangs.bought import BoughtGang, Laid, SheetPrices
    from artcheck.pricing.gangs.designs import Design
    from artcheck.pricing.gangs.money import Gangs

GANG_BUDGET_S = 0.02
"""Seconds of search for each set of designs that might share sheets: the usual one takes a few
thousandths, and a page waits for all of them. `artcheck gang` searches longer."""

ROLL_BUDGET_S = 0.005
"""Seconds of search for one roll of all designs, while a page waits: 3.2 % above the bound on the
average of the benchmark's twenty mixed orders, where a second leaves 2.1 %."""


class Sharing:
    """What designs cost together; layouts are kept while one order is priced in many ways."""

    def __init__(self, money: Money) -> None:
        self.money = money
        self._gangs: dict[object, tuple[SheetPrices, Gangs]] = {}
        self._kept: dict[object, BoughtGang | None] = {}

    def lots(self, parts: Sequence[Decoration], rules: PriceRules) -> tuple[Decoration, ...]:
        """What is bought for these prints: designs share sheets where the whole lands cheaper."""
        lots = lots_of(parts, self.money)
        best = arrived_together(lots, rules, self.money)
        for method_id in dict.fromkeys(lot.method.id for lot in lots):
            own = [lot for lot in lots if lot.method.id == method_id and _may_share(lot)]
            together = self._together(own) if len(own) > 1 else ()
            if not together:
                continue
            shared = tuple(sorted((*_others(lots, together), *together), key=lambda x: x.places))
            arrived = arrived_together(shared, rules, self.money)
            if landed_cost(arrived, rules) < landed_cost(best, rules):
                lots, best = shared, arrived
        return best

    def worth_it(
        self, lots: Sequence[Decoration], elsewhere: Sequence[Decimal | None]
    ) -> list[bool]:
        """Which lots of one sheet method to print by it when each may be had elsewhere so dear."""
        designs = [_design(lot) for lot in lots]
        prices = {
            design: amount
            for design, amount in zip(designs, elsewhere, strict=True)
            if amount is not None
        }
        try:
            kept = self._sheets(lots)[1].worth_it(designs, prices)
        except UsageError:
            return [amount is None for amount in elsewhere]
        return [design in kept for design in designs]

    def _together(self, lots: Sequence[Decoration]) -> tuple[Decoration, ...]:
        """Those of these lots of one method that share sheets, as new lots."""
        designs = tuple(_design(lot) for lot in lots)
        key = lots[0].method.id, designs
        if key not in self._kept:
            self._kept[key] = self._ganged(lots, designs)
        gang = self._kept[key]
        return () if gang is None else tuple(_shared_lots(gang, lots))

    def _ganged(self, lots: Sequence[Decoration], designs: Sequence[Design]) -> BoughtGang | None:
        from artcheck.pricing.gangs.bought import roll_ganged

        price = lots[0].method.price
        try:
            if isinstance(price, PerRoll):
                return roll_ganged(price, designs, (), self.money, ROLL_BUDGET_S)
            prices, gangs = self._sheets(lots)
            return prices.bought(gangs.plan(designs), ())
        except UsageError:  # too many pieces or designs for one gang: they are bought apart
            return None

    def _sheets(self, lots: Sequence[Decoration]) -> tuple[SheetPrices, Gangs]:
        from artcheck.pricing.gangs.bought import SheetPrices
        from artcheck.pricing.gangs.money import Gangs

        method: Method = lots[0].method
        price = method.price
        assert isinstance(price, PerSheet)
        mixed = frozenset[str]().union(*(lot.mixed for lot in lots))
        key = method.id, mixed, any(lot.job.underbase for lot in lots)
        if key not in self._gangs:
            prices = SheetPrices(price, self.money, mixed, key[2])
            kept = Gangs(
                price.sheet_in, price.gutter_in, price.margin_in, prices.cost, GANG_BUDGET_S
            )
            self._gangs[key] = prices, kept
        return self._gangs[key]


def _may_share(lot: Decoration) -> bool:
    """Names and numbers are a design each: those lie on a roll, on no sheet printed many times."""
    price = lot.method.price
    if not lot.art or lot.as_it_is:
        return False
    return isinstance(price, PerRoll) or (
        isinstance(price, PerSheet) and not lot.job.each_different
    )


def _design(lot: Decoration) -> Design:
    """The lot as a piece to be laid out, named by its place in the order."""
    from artcheck.pricing.gangs.designs import Design

    price = lot.method.price
    assert isinstance(price, PerSheet | PerRoll)
    width, height = lot.job.size_in
    return Design(
        name=str(lot.places[0]),
        width_in=width,
        height_in=height,
        quantity=lot.job.prints,
        inks=lot.plates if isinstance(price, PerSheet) else frozenset(),
        rotate=price.rotate,
    )


# --- a gang as lots -----------------------------------------------------------------------------


def _others(lots: Sequence[Decoration], shared: Sequence[Decoration]) -> list[Decoration]:
    taken = {place for lot in shared for place in lot.places}
    return [lot for lot in lots if not taken & set(lot.places)]


def _shared_lots(gang: BoughtGang, lots: Sequence[Decoration]) -> Iterator[Decoration]:
    """A lot for all layouts that hang together by a design; designs that lie alone give none."""
    by_name = {_design(lot).name: lot for lot in lots}
    for layouts in _hanging_together(gang.laid):
        names = sorted({n for layout in layouts for n in _names(layout)}, key=int)
        if len(names) > 1:
            yield _shared_lot(layouts, [by_name[name] for name in names], by_name)


def _hanging_together(laid: Sequence[Laid]) -> list[list[Laid]]:
    groups: list[list[Laid]] = []
    for layout in laid:
        own = set(_names(layout))
        near = [g for g in groups if any(own & set(_names(other)) for other in g)]
        groups = [g for g in groups if g not in near]
        groups.append([*(other for group in near for other in group), layout])
    return groups


def _names(layout: Laid) -> list[str]:
    names = {p.design.name for p in layout.sheet.placements[: layout.paid]}
    return sorted(names, key=int)


def _shared_lot(
    layouts: Sequence[Laid], lots: Sequence[Decoration], by_name: dict[str, Decoration]
) -> Decoration:
    total = sum((layout.bought.total for layout in layouts), Decimal(0))
    apart = sum((lot.bought.total for lot in lots), Decimal(0))
    lines = [_line_of(layout, line, by_name) for layout in layouts for line in layout.bought.lines]
    return replace(
        lots[0],
        bought=Purchase(
            total=total,
            lines=tuple(lines),
            unit=layouts[0].bought.unit,
            needed=sum(layout.bought.needed for layout in layouts),
            bought=sum(layout.bought.bought for layout in layouts),
            saving=apart - total,
            notes=tuple(_spare_notes(layouts, lots)),
        ),
        words="",
        pieces=None,
        places=tuple(sorted(place for lot in lots for place in lot.places)),
        layouts=tuple(map(_layout, layouts)),
        as_it_is=True,
    )


def _layout(laid: Laid) -> SharedLayout:
    return SharedLayout(
        sheet_in=laid.sheet.sheet_in,
        times=laid.times,
        places=tuple(
            SharedPlace(
                print=int(place.design.name),
                row_in=place.row_in,
                col_in=place.col_in,
                width_in=place.box.width_in,
                height_in=place.box.height_in,
            )
            for place in laid.sheet.placements[: laid.paid]
        ),
    )


def _line_of(layout: Laid, line: CostLine, by_name: dict[str, Decoration]) -> CostLine:
    """A line of one layout's bill; the first of them says what lies on it."""
    names = _names(layout)
    what = f"{_words(by_name[name] for name in names)}: {line.what}"
    if line is not layout.bought.lines[0]:
        return line.model_copy(update={"what": what})
    lying = Counter(p.design.name for p in layout.sheet.placements[: layout.paid])
    one = "a sheet" if layout.times > 1 else "it"
    held = ", ".join(f"{lying[name]} x {_words([by_name[name]])}" for name in names)
    how = f"on {one} {held}" + (f"; {line.how}" if line.how else "")
    return line.model_copy(update={"what": what, "how": how})


def _spare_notes(layouts: Sequence[Laid], lots: Sequence[Decoration]) -> Iterator[str]:
    made: Counter[str] = Counter()
    for layout in layouts:
        for placement in layout.sheet.placements[: layout.paid]:
            made[placement.design.name] += layout.times
    for lot in lots:
        spare = made[str(lot.places[0])] - lot.job.prints
        if spare > 0:
            copies = "copy" if spare == 1 else "copies"
            yield f"{spare} spare {copies} of {lot.name or 'a print'}"


def _words(lots: Iterable[Decoration]) -> str:
    return " + ".join(dict.fromkeys(lot.name or "print" for lot in lots))
