"""Where the cheapest method changes with quantity: exact, over every quantity, not by formula.

Flips are not monotonic (a sheet more, a price break) so each quantity is looked at; totals are
whole numbers of the smallest unit of money, so equal means equal.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from operator import itemgetter

from artcheck.domain.check import TIE, Crossover, Flip

MOST_PIECES = 10_000
"""Quantities beyond this are priced but not searched for flips: garment shops rarely go there."""

SHORT = 16
"""Quantities that are looked at one by one rather than halved again."""


def crossover(totals: Mapping[str, Sequence[int]]) -> Crossover:
    """Compare methods over quantities.

    Parameters
    ----------
    totals
        Method id to its total cost for 1, 2, 3 ... pieces (all of one length), in the smallest
        unit of money.

    Returns
    -------
    Crossover
        With no methods: no flips.
    """
    if not totals:
        return Crossover(flips=(), close_call=None, stable_from_quantity=None)
    flips = _gathered(totals)
    last = flips[-1]
    return Crossover(
        flips=flips,
        close_call=(flips[1].from_quantity, flips[-2].to_quantity) if len(flips) > 2 else None,
        stable_from_quantity=None if last.method == TIE else last.from_quantity,
    )


def crossover_of_one(method: str) -> Crossover:
    """What `crossover` gives for a single method: it is the cheapest everywhere."""
    whole = Flip(from_quantity=1, to_quantity=MOST_PIECES, method=method)
    return Crossover(flips=(whole,), close_call=None, stable_from_quantity=1)


def _gathered(totals: Mapping[str, Sequence[int]]) -> tuple[Flip, ...]:
    """Stretches of quantities with the same cheapest method."""
    flips, quantity = [], 1
    for method, runs in groupby(_runs(totals), key=itemgetter(0)):
        length = sum(count for _, count in runs)
        flips.append(Flip(from_quantity=quantity, to_quantity=quantity + length - 1, method=method))
        quantity += length
    return tuple(flips)


def _runs(totals: Mapping[str, Sequence[int]]) -> Iterator[tuple[str, int]]:
    """(cheapest method, quantities) one after another; the same method may follow itself.

    Where no total falls with quantity, a method that costs less at a stretch's last quantity than
    any other at its first is the cheapest in all of it: most quantities need not be looked at.
    """
    whole = 0, len(next(iter(totals.values())))
    # sorting what is sorted is one pass
    rising = all(list(curve) == sorted(curve) for curve in totals.values())
    stretches = [whole]
    while stretches:
        first, end = stretches.pop()
        method = _cheapest_throughout(totals, first, end) if rising else None
        if method is not None:
            yield method, end - first
        elif rising and end - first > SHORT:
            middle = (first + end) // 2
            stretches += [(middle, end), (first, middle)]
        else:
            yield from _each(totals, first, end)


def _cheapest_throughout(totals: Mapping[str, Sequence[int]], first: int, end: int) -> str | None:
    """The method that is surely the one cheapest at indices ``first`` to ``end - 1``."""
    name = min(totals, key=lambda method: totals[method][end - 1])
    most = totals[name][end - 1]
    others = (curve[first] for method, curve in totals.items() if method != name)
    return name if all(most < other for other in others) else None


def _each(totals: Mapping[str, Sequence[int]], first: int, end: int) -> Iterator[tuple[str, int]]:
    """The cheapest method of each of these quantities."""
    names = list(totals)
    for row in zip(*(curve[first:end] for curve in totals.values()), strict=True):
        least = min(row)
        yield (TIE if row.count(least) > 1 else names[row.index(least)]), 1
