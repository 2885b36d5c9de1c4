"""Of which garment sizes the spares are."""

from __future__ import annotations

from collections.abc import Sequence

from artcheck.domain.check import SizeSpares
from artcheck.domain.order import Garment, Order, SizeRun
from artcheck.domain.shop import Spares
from artcheck.pricing.quote import pieces_with_spares


def spares_by_size(order: Order, spares: Spares) -> tuple[SizeSpares, ...]:
    """Spare garments of each size, in the order's own order; empty where no sizes are told.

    A print that only some sizes carry has its own spares among those, so that each print can be
    made good on a garment that it fits; prints on the same garments share them.
    """
    several = len(order.worn) > 1
    return tuple(
        size.model_copy(update={"garment": garment.label}) if several else size
        for garment in order.worn
        for size in spares_of(garment, order, spares)
    )


def spares_of(garment: Garment, order: Order, spares: Spares) -> tuple[SizeSpares, ...]:
    """`spares_by_size` of one of the order's garments."""
    sizes = garment.sizes
    most = [0] * len(sizes)
    own = [p for p in order.prints if not p.garments or garment.label in p.garments]
    for carried in {print_.sizes for print_ in own} or {()}:
        runs = [run for run in sizes if not carried or run.size in carried]
        pieces = sum(run.quantity for run in runs)
        if not pieces:
            continue
        shared = apportioned(runs, pieces_with_spares(pieces, spares) - pieces)
        for run, count in zip(runs, shared, strict=True):
            place = sizes.index(run)
            most[place] = max(most[place], count)
    return tuple(
        SizeSpares(size=run.size, quantity=run.quantity, spares=count)
        for run, count in zip(sizes, most, strict=True)
    )


def apportioned(runs: Sequence[SizeRun], spares: int) -> list[int]:
    """Spares over sizes by their quantities, what is left to the largest remainders.

    The method of largest remainders (A. Hamilton 1792); among equals the earlier size.
    """
    pieces = sum(run.quantity for run in runs)
    counts = [run.quantity * spares // pieces for run in runs]
    by_remainder = sorted(
        range(len(runs)), key=lambda n: (-(runs[n].quantity * spares % pieces), n)
    )
    for n in by_remainder[: spares - sum(counts)]:
        counts[n] += 1
    return counts
