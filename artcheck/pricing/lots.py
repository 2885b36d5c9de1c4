"""What is bought as one, and what it costs when all of it has arrived.

Prints of one order that are the same design (a logo on tees and on hoodies) are one purchase: they
share set-up, breaks and least charges. Which designs share sheets is decided in `shared`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from artcheck.domain.check import SharedLayout
from artcheck.domain.prices import PerPiece, PerSheet
from artcheck.domain.shop import Method, PriceRules
from artcheck.pricing.delivery import FREE, delivery_of
from artcheck.pricing.job import Job, Money
from artcheck.pricing.purchase import Purchase, purchase


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoration:
    """One print of the order, bought by one method; or several that are bought as one.

    ``pieces`` are the garments that carry it, spares not counted; None: all of the order's.
    ``words`` and ``where`` name it in the order's lines (``logo``, ``hoodie``). ``art`` tells
    designs apart: prints with the same art, size and ``plates`` are copies of one design; empty
    where nobody looked. ``mixed`` are the plates whose ink is mixed to order.

    Of a lot, ``places`` counts the prints that it holds; ``layouts`` are those of shared sheets.
    ``as_it_is``: what is bought is settled and may not be bought anew for a delivery.
    """

    method: Method
    job: Job
    bought: Purchase
    words: str = ""
    where: str = ""
    pieces: int | None = None
    art: str = ""
    plates: frozenset[str] = field(default_factory=frozenset)
    mixed: frozenset[str] = field(default_factory=frozenset)
    places: tuple[int, ...] = ()
    layouts: tuple[SharedLayout, ...] = ()
    as_it_is: bool = False

    @property
    def name(self) -> str:
        """What it is called in the order's lines."""
        return f"{self.words} ({self.where})" if self.words and self.where else self.words


def lots_of(parts: Sequence[Decoration], money: Money) -> tuple[Decoration, ...]:
    """The prints, those of one design bought together; in the order of their first prints."""
    numbered = [replace(part, places=(n,)) for n, part in enumerate(parts)]
    alike: dict[object, list[Decoration]] = {}
    for part in numbered:
        alike.setdefault(_design_key(part), []).append(part)
    return tuple(
        _joined(prints, money) if len(prints) > 1 else prints[0] for prints in alike.values()
    )


def _design_key(part: Decoration) -> object:
    """Equal for copies of one design that are bought by one method."""
    job = part.job
    if not part.art:
        return part.places
    inks: tuple[object, ...] = ()
    if isinstance(part.method.price, PerSheet | PerPiece):
        inks = job.inks, job.mixed, job.underbase, part.plates, part.mixed
    return part.method.id, part.art, job.size_in, job.each_different, inks


def _joined(prints: Sequence[Decoration], money: Money) -> Decoration:
    first = prints[0]
    job = replace(first.job, prints=sum(part.job.prints for part in prints))
    return replace(
        first,
        job=job,
        bought=purchase(first.method.price, job, money),
        where=", ".join(dict.fromkeys(part.where for part in prints if part.where)),
        pieces=sum(part.pieces for part in prints if part.pieces is not None) or None,
        places=tuple(place for part in prints for place in part.places),
    )


# --- arrived ------------------------------------------------------------------------------------


def arrived_together(
    lots: Sequence[Decoration], rules: PriceRules, money: Money
) -> tuple[Decoration, ...]:
    """The lots bought anew where the goods of one supplier, taken together, decide.

    One lot at a time is bought up to a free delivery, so the goods lie above its threshold by
    less than one unit (or at a break).
    """
    chosen = tuple(lots)
    for name in suppliers_of(lots):
        delivery = delivery_of(name, rules)
        own = [n for n, lot in enumerate(lots) if lot.method.supplier == name and not lot.as_it_is]
        if delivery.free_from is None:
            continue
        plain = _rebought(chosen, {n: _alone(chosen[n], money) for n in own})
        options = [plain]
        for n in own:
            other = goods_of(plain, name) - plain[n].bought.total
            lot = plain[n]
            more = purchase(lot.method.price, lot.job, money, delivery.beside(other))
            options.append(_rebought(plain, {n: more}))
        chosen = min(options, key=lambda option: delivery.landed(goods_of(option, name)))
    return chosen


def landed_cost(lots: Sequence[Decoration], rules: PriceRules) -> Decimal:
    """All lots with their deliveries."""
    made = (lot.bought.total for lot in lots if lot.method.supplier is None)
    ordered = (delivery_of(name, rules).landed(goods_of(lots, name)) for name in suppliers_of(lots))
    return sum((*made, *ordered), Decimal(0))


def _alone(lot: Decoration, money: Money) -> Purchase:
    """The lot's cheapest goods, whatever their delivery costs."""
    return purchase(lot.method.price, lot.job, money, FREE)


def _rebought(lots: Sequence[Decoration], bought: dict[int, Purchase]) -> tuple[Decoration, ...]:
    return tuple(
        replace(lot, bought=bought[n]) if n in bought else lot for n, lot in enumerate(lots)
    )


def suppliers_of(lots: Sequence[Decoration]) -> list[str]:
    """Everybody who delivers something, by name."""
    return sorted({lot.method.supplier for lot in lots if lot.method.supplier is not None})


def goods_of(lots: Sequence[Decoration], supplier: str) -> Decimal:
    """What is bought from one supplier."""
    amounts = (lot.bought.total for lot in lots if lot.method.supplier == supplier)
    return sum(amounts, Decimal(0))
