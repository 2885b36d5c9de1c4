"""An evaluated order becomes a quote: the price by line, the promises, other ways to print it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from artcheck.domain.check import GarmentReport, MethodReport, OrderReport, Report
from artcheck.domain.findings import Finding
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order, Print
from artcheck.domain.quote import OrderQuote, QuoteAlternative, QuotedGarment, QuotedPrint
from artcheck.domain.shop import Shop
from artcheck.errors import PriceError, UsageError
from artcheck.pipeline.methods import whole_run
from artcheck.pipeline.whole import bought_by
from artcheck.pricing.price_lines import price_lines
from artcheck.pricing.quote import Decoration, Run, Sharing, money_of, quote
from artcheck.units import round_money
from artcheck.version import __version__

SETTLED_BY_CONSENT = frozenset({"brand-colour-out-of-reach"})
"""Stops that the customer alone can lift, by accepting another colour: a method that meets no other
is offered together with what must be accepted."""


def quote_order(
    measured: Sequence[Measurements], order: Order, checked: OrderReport, shop: Shop
) -> OrderQuote:
    """The quote of an order by its recommended methods. Fast: records only.

    Raises
    ------
    UsageError
        The order names no quantity.
    PriceError
        No method on hand suits one of its prints, or none gives a price.
    """
    if order.pieces is None:
        raise UsageError(
            "The order names no quantity. Say how many pieces, or how many of each size."
        )
    chosen = [_chosen(report) for report in checked.prints]
    parts = _parts(chosen, measured, order, shop)
    if parts is None:
        raise PriceError("The order has no price. `artcheck check --order` says what is missing.")
    run = whole_run(order, shop)
    garments = tuple(_garments(order, checked, run))
    sharing = Sharing(money_of(shop.prices, shop.currency))
    quoted = quote(parts, run, shop.prices, shop.currency, sharing)
    prints = tuple(map(_quoted_print, checked.prints, chosen, order.prints))
    rules = shop.prices
    deposit = None
    if rules.deposit is not None:
        deposit = round_money(quoted.price * _exact(rules.deposit), shop.currency)
    return OrderQuote(
        artcheck_version=__version__,
        shop=shop.name,
        demo_prices=shop.demo,
        number=order.number,
        date=order.date,
        valid_days=rules.quote_valid_days,
        valid_until=_valid_until(order, shop),
        order=order.name,
        customer=order.customer,
        needed_by=order.needed_by,
        rush=order.rush,
        garment=_together(garments),
        garments_included=all(one.included for one in garments),
        garments_supplied=all(one.supplied for one in garments),
        sizes=garments[0].sizes if len(garments) == 1 else (),
        garments=garments,
        pieces=order.pieces,
        prints=prints,
        currency=shop.currency,
        lines=price_lines(
            parts,
            run,
            rules,
            quoted,
            [_garment_words(one.garment) for one in garments],
            [_line_words(p) for p in prints],
            sharing,
        ),
        price=quoted.price,
        price_per_piece=quoted.price_per_piece,
        deposit_share=rules.deposit,
        deposit=deposit,
        balance=None if deposit is None else quoted.price - deposit,
        turnaround=rules.turnaround,
        tax_line=rules.tax_line,
        terms=rules.terms,
        alternatives=tuple(_alternatives(chosen, measured, order, checked, shop, run)),
        to_settle=tuple(dict.fromkeys(m for report in checked.prints for m in report.messages)),
        missing=tuple(_missing(order, shop)),
    )


def _chosen(report: Report) -> MethodReport:
    answer = report.recommendation
    for method in report.methods:
        if method.id == answer.method:
            return method
    raise PriceError(f"{Path(report.artwork.file).name} has no price. {answer.headline}")


def _parts(
    methods: Sequence[MethodReport], measured: Sequence[Measurements], order: Order, shop: Shop
) -> list[Decoration] | None:
    """Every print bought by its method; None where one of them gives no price."""
    parts: list[Decoration] = []
    for i, (method, art) in enumerate(zip(methods, measured, strict=True)):
        parts += bought_by([method], art, order, shop, i)
    return parts if len(parts) == len(methods) else None


def _valid_until(order: Order, shop: Shop) -> dt.date | None:
    days = shop.prices.quote_valid_days
    return None if order.date is None or days is None else order.date + dt.timedelta(days)


def _exact(share: float) -> Decimal:
    return Decimal(repr(share))


# --- words --------------------------------------------------------------------------------------


def _quoted_print(report: Report, method: MethodReport, print_: Print) -> QuotedPrint:
    return QuotedPrint(
        art=Path(report.artwork.file).name,
        placement=report.garment.placement,
        garment=", ".join(print_.garments),
        sizes=print_.sizes,
        width_in=report.printed.width_in,
        height_in=report.printed.height_in,
        method=method.id,
        method_name=method.name,
    )


def _line_words(print_: QuotedPrint) -> str:
    place = f"{print_.placement}, " if print_.placement else ""
    carried = ", ".join(word for word in (print_.garment, *print_.sizes) if word)
    on = f" ({carried})" if carried else ""
    return f"Print {Path(print_.art).stem}{on}: {place}{print_.method_name.lower()}"


def _garments(order: Order, checked: OrderReport, run: Run) -> Iterator[QuotedGarment]:
    """Each garment as the report on its first print has it, with all of its pieces."""
    for garment, blanks in zip(order.worn, run.blanks, strict=True):
        shown = next(
            report.garment
            for print_, report in zip(order.prints, checked.prints, strict=True)
            if not print_.garments or garment.label in print_.garments
        )
        yield QuotedGarment(
            name=garment.label,
            garment=shown.model_copy(update={"pieces": garment.pieces}),
            included=blanks.price is not None,
            supplied=garment.supplied,
            sizes=garment.sizes,
        )


def _together(garments: Sequence[QuotedGarment]) -> GarmentReport:
    """One garment as it is; of several the kinds and all pieces."""
    if len(garments) == 1:
        return garments[0].garment
    pieces = sum(one.garment.pieces or 0 for one in garments)
    return GarmentReport(kind=" and ".join(one.name for one in garments), pieces=pieces)


def _garment_words(garment: GarmentReport) -> str:
    words = [garment.kind or "garment", garment.colour, garment.fabric]
    joined = ", ".join(word for word in words if word)
    return joined[:1].upper() + joined[1:]  # capitalize() would make names of colours small


def _missing(order: Order, shop: Shop) -> Iterator[str]:
    """What a quote wants and neither the order nor the shop file says, with where to put it."""
    rules = shop.prices
    wanted = (
        (not order.number, "quote number (--number, or number in the order)"),
        (order.date is None, "date (--date, or date in the order)"),
        (not order.customer, "customer (customer in the order)"),
        (rules.quote_valid_days is None, "validity (prices.quote_valid_days in the shop file)"),
        (rules.deposit is None, "deposit (prices.deposit in the shop file)"),
        (not rules.turnaround, "turnaround (prices.turnaround in the shop file)"),
        (not rules.tax_line, "tax line (prices.tax_line in the shop file)"),
        (not rules.terms, "terms (prices.terms in the shop file)"),
    )
    return (words for lacking, words in wanted if lacking)


# --- the other ways to print it -----------------------------------------------------------------


def _alternatives(
    chosen: Sequence[MethodReport],
    measured: Sequence[Measurements],
    order: Order,
    checked: OrderReport,
    shop: Shop,
    run: Run,
) -> Iterator[QuoteAlternative]:
    """The whole order by one other method, where every print may use it."""
    for method in shop.methods:
        entries = [next(m for m in r.methods if m.id == method.id) for r in checked.prints]
        if [e.id for e in entries] == [e.id for e in chosen] or not all(map(_offered, entries)):
            continue
        parts = _parts(entries, measured, order, shop)
        if parts is not None:
            sharing = Sharing(money_of(shop.prices, shop.currency))
            quoted = quote(parts, run, shop.prices, shop.currency, sharing)
            yield QuoteAlternative(
                method=method.id,
                method_name=method.name,
                price=quoted.price,
                price_per_piece=quoted.price_per_piece,
                accepts=tuple(_accepted(chosen, entries)),
            )


def _offered(method: MethodReport) -> bool:
    """Whether a customer may have it: it suits, or waits for nothing but their consent."""
    hard = [f for f in method.findings if f.severity == "stop" and not f.curable]
    return method.recommendable and all(f.id in SETTLED_BY_CONSENT for f in hard)


def _accepted(chosen: Sequence[MethodReport], others: Sequence[MethodReport]) -> Iterator[str]:
    """What the other method asks of the customer beyond the chosen one."""
    said = {message for method in chosen for message in _messages(method.findings)}
    found = (message for method in others for message in _messages(method.findings))
    return (message for message in dict.fromkeys(found) if message not in said)


def _messages(findings: Sequence[Finding]) -> Iterator[str]:
    return (f.message for f in findings if f.message)
