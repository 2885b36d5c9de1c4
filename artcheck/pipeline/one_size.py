"""One print for all garment sizes, or one for each: the order with two of its prints made one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from artcheck.domain.check import QuoteReport
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order, Print


def in_one_size(
    order: Order, measured: Sequence[Measurements]
) -> tuple[Order, tuple[Measurements, ...], str] | None:
    """The order with two prints of one art, for different garment sizes, in the smaller size.

    With the art of the prints that remain, and words for the change; None where there are no such
    prints. The smaller print fits the smallest garment, the larger one need not.
    """
    for one, two in combinations(range(len(order.prints)), 2):
        small, large = sorted((order.prints[one], order.prints[two]), key=_width)
        if not _same_but_for_size(small, large):
            continue
        sizes = (*small.sizes, *large.sizes)
        garment = next(g for g in order.worn if not small.garments or g.label in small.garments)
        everything = {run.size for run in garment.sizes} == set(sizes)
        minutes = max(small.art_minutes, large.art_minutes)
        joint = small.model_copy(
            update={"sizes": () if everything else sizes, "art_minutes": minutes}
        )
        prints = list(order.prints)
        prints[one] = joint
        del prints[two]
        kept = tuple(art for place, art in enumerate(measured) if place != two)
        words = f"One print of {_width(small):g} in for all sizes"
        return order.model_copy(update={"prints": tuple(prints)}), kept, words
    return None


def one_size_note(words: str, now: QuoteReport, joint: QuoteReport | None) -> str | None:
    """What the single size saves; None where it saves nothing."""
    if joint is None or joint.cost >= now.cost:
        return None
    return (
        f"{words} instead of two would cost {now.cost - joint.cost} {now.currency} less"
        f" ({joint.price_per_piece} each)."
    )


def _same_but_for_size(small: Print, large: Print) -> bool:
    size = {"width_in": None, "height_in": None, "sizes": (), "placement": None, "art_minutes": 0}
    told = small.width_in is not None and large.width_in is not None
    apart = small.sizes and large.sizes and not set(small.sizes) & set(large.sizes)
    return bool(told and apart) and small.model_copy(update=size) == large.model_copy(update=size)


def _width(print_: Print) -> float:
    return print_.width_in or 0.0
