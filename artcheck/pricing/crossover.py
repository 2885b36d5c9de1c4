"""Where the cheapest method changes with quantity: exact, over every quantity, not by formula.

Flips are not monotonic (a sheet more, a price break) so each quantity is looked at; totals are
whole numbers of the smallest unit of money, so equal means equal.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import groupby
from operator import eq

from artcheck.domain.check import TIE, Crossover, Flip

MOST_PIECES = 10_000
"""Quantities beyond this are priced but not searched for flips: garment shops rarely go there."""


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
    names, curves = list(totals), list(totals.values())
    # min of a single number would look into it
    least = list(map(min, *curves)) if len(curves) > 1 else curves[0]

    @lru_cache
    def method_of(cheapest: tuple[bool, ...]) -> str:
        return TIE if sum(cheapest) > 1 else names[cheapest.index(True)]

    cheapest = zip(*(map(eq, curve, least) for curve in curves), strict=True)
    flips, quantity = [], 1
    for method, run in groupby(map(method_of, cheapest)):
        length = len(list(run))
        flips.append(Flip(from_quantity=quantity, to_quantity=quantity + length - 1, method=method))
        quantity += length
    return tuple(flips)
