"""A supplier's terms: the least order and what the delivery costs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from artcheck.domain.shop import PriceRules

_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What is added to a bill. ``free_from`` None: the delivery is never free."""

    freight: Decimal = _NOTHING
    free_from: Decimal | None = None
    least_order: Decimal = _NOTHING

    def landed(self, goods: Decimal) -> Decimal:
        """The goods, filled up to the least order, with their freight."""
        return goods + self.filled_up(goods) + self.charged(goods)

    def filled_up(self, goods: Decimal) -> Decimal:
        """What is missing to the least order."""
        return max(self.least_order - goods, _NOTHING)

    def charged(self, goods: Decimal) -> Decimal:
        """The freight of so many goods."""
        billed = max(goods, self.least_order)
        return _NOTHING if self.free_from is not None and billed >= self.free_from else self.freight

    def beside(self, other_goods: Decimal) -> Delivery:
        """The same terms for what is added to other goods of one order."""
        return Delivery(
            freight=self.freight,
            free_from=None if self.free_from is None else self.free_from - other_goods,
            least_order=max(self.least_order - other_goods, _NOTHING),
        )


FREE = Delivery()
"""What the shop makes itself comes without a delivery."""


def delivery_of(supplier: str | None, rules: PriceRules) -> Delivery:
    """The terms of a supplier; one without terms of its own asks for the usual freight."""
    if supplier is None:
        return FREE
    usual = rules.freight_per_supplier_order
    terms = next((s for s in rules.suppliers if s.name == supplier), None)
    if terms is None:
        return Delivery(freight=usual)
    return Delivery(
        freight=usual if terms.freight is None else terms.freight,
        free_from=terms.free_from,
        least_order=terms.least_order,
    )
