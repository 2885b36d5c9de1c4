"""What runs in a process of its own: one order's papers, as `artcheck quote` writes them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.pipeline import cut_out_with_fades, evaluate_order, quote_order
from artcheck.report.papers import Papers, job_papers


def make_papers(
    tell: Callable[[str], None],
    measured: Sequence[Measurements],
    files: Sequence[bytes],
    order: Order,
    shop: Shop,
) -> Papers:
    """The papers of an order; ``files`` are its prints' art.

    Raises
    ------
    ArtcheckError
        As `artcheck.pipeline.quote_order`.
    """
    report = evaluate_order(measured, order, shop)
    quote = quote_order(measured, order, report, shop)
    tell("writing the papers")
    arts = map(cut_out_with_fades, order.prints, measured, files)
    return job_papers(order, report, quote, shop, arts)
