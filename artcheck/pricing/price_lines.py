"""The price of an order as the customer reads it: garments, each print, art work, rush.

Costs that no customer buys (freight, press labour, spares) lie in the lines that they serve. The
price is the shop's rule on the whole cost; lines share it by cost and add up to it to the cent.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from artcheck.domain.check import QuoteReport
from artcheck.domain.quote import PriceLine
from artcheck.domain.shop import PriceRules
from artcheck.pricing.delivery import delivery_of
from artcheck.pricing.quote import (
    Decoration,
    Run,
    Sharing,
    art_time,
    goods_of,
    money_of,
    pressed,
    price_of,
    what_is_bought,
)
from artcheck.units import minor_digits


def price_lines(
    parts: Sequence[Decoration],
    run: Run,
    rules: PriceRules,
    quoted: QuoteReport,
    garments: Sequence[str],
    prints: Sequence[str],
    sharing: Sharing | None = None,
) -> tuple[PriceLine, ...]:
    """Lines that sum to ``quoted.price``, the price of the same parts and the same ``sharing``.

    ``garments`` and ``prints`` are what the lines are called, in the order of ``run.blanks`` and
    of ``parts``.
    """
    money = money_of(rules, quoted.currency)
    lots = what_is_bought(parts, rules, money, sharing)
    costs = _print_costs(parts, lots, run, rules)
    named: list[tuple[str, int | None, Fraction]] = [
        (text, part.pieces or run.pieces, cost)
        for text, part, cost in zip(prints, parts, costs, strict=True)
    ]
    named[:0] = [
        (text, blanks.pieces, blanks.to_buy(rules) * Fraction(blanks.price))
        for text, blanks in zip(garments, run.blanks, strict=True)
        if blanks.price is not None
    ]
    if run.art_minutes:
        hours = Fraction(art_time(run.art_minutes, rules))
        named.append(("Art work", None, hours * Fraction(rules.art_per_hour)))
    before_rush = price_of(quoted.cost, rules, quoted.currency)
    amounts = shared_out(before_rush, [cost for *_, cost in named], quoted.currency)
    lines = [
        PriceLine(what=what, pieces=pieces, amount=amount)
        for (what, pieces, _), amount in zip(named, amounts, strict=True)
    ]
    if run.rush:
        share = f"{rules.rush_share * 100:f}".rstrip("0").rstrip(".") or "0"
        rush = quoted.price - before_rush
        lines.append(PriceLine(what=f"Rush, {share} %", pieces=None, amount=rush))
    return tuple(lines)


def _print_costs(
    parts: Sequence[Decoration], lots: Sequence[Decoration], run: Run, rules: PriceRules
) -> list[Fraction]:
    """Transfers, press labour, and each supplier's freight, shared by what is bought there.

    What is missing to a supplier's least order counts as freight. Prints that are bought as one
    share by the area that they print.
    """
    costs = [pressed(part, run, rules) * Fraction(rules.labour_per_press) for part in parts]
    for lot in lots:
        bought = Fraction(lot.bought.total) + _beside(lot, lots, rules)
        areas = [_area(parts[place]) for place in lot.places]
        for place, area in zip(lot.places, areas, strict=True):
            costs[place] += bought * area / sum(areas)
    return costs


def _beside(lot: Decoration, lots: Sequence[Decoration], rules: PriceRules) -> Fraction:
    """The lot's share of what its supplier asks beside the goods."""
    supplier = lot.method.supplier
    fellows = [other for other in lots if other.method.supplier == supplier]
    together = sum((Fraction(other.bought.total) for other in fellows), Fraction(0))
    goods = Decimal(0) if supplier is None else goods_of(lots, supplier)
    delivery = delivery_of(supplier, rules)
    share = Fraction(lot.bought.total) / together if together else Fraction(1, len(fellows))
    return Fraction(delivery.landed(goods) - goods) * share


def _area(part: Decoration) -> Fraction:
    """What all copies of a print cover, in square inches."""
    width, height = part.job.size_in
    return Fraction(width * height) * part.job.prints


def shared_out(amount: Decimal, weights: Sequence[Fraction], currency: str) -> list[Decimal]:
    """Split an amount by weights into whole smallest units that sum to it exactly.

    Each part is rounded down; what is left goes, one unit each, to the largest remainders (the
    first of equals).

    >>> shared_out(Decimal("10.00"), [Fraction(1), Fraction(1), Fraction(1)], "USD")
    [Decimal('3.34'), Decimal('3.33'), Decimal('3.33')]
    """
    digits = minor_digits(currency)
    units = int(amount.scaleb(digits))
    total = sum(weights, Fraction(0))
    exact = [units * (w / total if total else Fraction(1, len(weights))) for w in weights]
    whole = [int(part) for part in exact]
    by_remainder = sorted(range(len(exact)), key=lambda i: (whole[i] - exact[i], i))
    for i in by_remainder[: units - sum(whole)]:
        whole[i] += 1
    return [Decimal(part).scaleb(-digits) for part in whole]
