"""Which method for each print of an order, where what they share makes one choice."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from itertools import combinations, product
from math import prod

from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.pricing.lots import lots_of
from artcheck.pricing.quote import Decoration, Sharing

MOST_TRIED = 256
"""Choices that are all tried: five prints of three methods each, a twentieth of a second. Twelve
such prints have half a million."""

Parts = Sequence[Sequence[Decoration]]
Choice = tuple[int, ...]
"""The place in its part of each print's decoration."""


def cheapest_choice(
    parts: Parts, cost_of: Callable[[tuple[Decoration, ...]], Decimal]
) -> tuple[Decoration, ...]:
    """One decoration for each print so that the whole costs least; the first of equals.

    ``parts`` holds what each print may use. All choices are tried where they are few. Where they
    are many, the search begins with the cheapest choice from every one or two suppliers and from
    all of them, and changes one print at a time as long as that saves: exact where the prints share
    nothing but deliveries and no more than two of those are worth their cost, else close.
    """

    def chosen(choice: Choice) -> tuple[Decoration, ...]:
        return tuple(part[n] for part, n in zip(parts, choice, strict=True))

    def cost(choice: Choice) -> tuple[Decimal, Choice]:
        return cost_of(chosen(choice)), choice

    if prod(map(len, parts)) <= MOST_TRIED:
        return chosen(min(map(cost, product(*(range(len(part)) for part in parts))))[1])
    starts = dict.fromkeys(_beginnings(parts))
    return chosen(min(_improved(cost(start), parts, cost) for start in starts)[1])


def sharing_choices(
    parts: Parts, first: Sequence[Decoration], sharing: Sharing
) -> Iterator[tuple[Decoration, ...]]:
    """Choices in which more prints go by one method, to share its sheets or its roll.

    ``first`` is the choice of prints that share nothing. For each method: every print that may use
    it; of sheets also just those for which it pays, the others as cheap as they can be had.
    """
    methods = dict.fromkeys(
        one.method.id
        for part in parts
        for one in part
        if one.art and isinstance(one.method.price, PerSheet | PerRoll)
    )
    for method_id in methods:
        by_it = [next((one for one in part if one.method.id == method_id), None) for part in parts]
        if sum(one is not None for one in by_it) < 2:
            continue
        yield tuple(mine or other for mine, other in zip(by_it, first, strict=True))
        sheets = [one for one in by_it if one and isinstance(one.method.price, PerSheet)]
        if sheets:
            yield _where_it_pays(parts, by_it, first, sharing)


def _where_it_pays(
    parts: Parts,
    by_it: Sequence[Decoration | None],
    first: Sequence[Decoration],
    sharing: Sharing,
) -> tuple[Decoration, ...]:
    """One sheet method for the prints that are cheaper so, each of the others by its cheapest."""
    places = [n for n, one in enumerate(by_it) if one is not None]
    own = [one for one in by_it if one is not None]
    others = [
        [one for one in parts[n] if one.method.id != mine.method.id]
        for n, mine in zip(places, own, strict=True)
    ]
    cheapest = [min(some, key=lambda one: one.bought.total, default=None) for some in others]
    lots = lots_of(own, sharing.money)
    elsewhere = [_amount([cheapest[k] for k in lot.places]) for lot in lots]
    chosen = list(first)
    for lot, kept in zip(lots, sharing.worth_it(lots, elsewhere), strict=True):
        for k in lot.places:
            other = cheapest[k]
            chosen[places[k]] = own[k] if kept or other is None else other
    return tuple(chosen)


def _amount(prints: Sequence[Decoration | None]) -> Decimal | None:
    """What they cost together; None where one of them cannot be had."""
    amounts = [one.bought.total for one in prints if one is not None]
    return sum(amounts, Decimal(0)) if len(amounts) == len(prints) else None


def _beginnings(parts: Parts) -> Iterator[Choice]:
    suppliers = sorted({one.method.supplier or "" for part in parts for one in part})
    few = [set(names) for count in (1, 2) for names in combinations(suppliers, count)]
    for allowed in (*few, set(suppliers)):
        yield tuple(_cheapest(part, allowed) for part in parts)


def _cheapest(part: Sequence[Decoration], allowed: set[str]) -> int:
    """From these suppliers, or from any where a print has none of theirs."""
    own = [n for n, one in enumerate(part) if (one.method.supplier or "") in allowed]
    return min(own or range(len(part)), key=lambda n: part[n].bought.total)


def _improved(
    best: tuple[Decimal, Choice],
    parts: Parts,
    cost: Callable[[Choice], tuple[Decimal, Choice]],
) -> tuple[Decimal, Choice]:
    """Print by print the best of its decorations, until a round changes nothing."""
    while True:
        before = best
        for place, part in enumerate(parts):
            _, choice = best
            others = ((*choice[:place], n, *choice[place + 1 :]) for n in range(len(part)))
            best = min(best, *map(cost, others))
        if best == before:
            return best
