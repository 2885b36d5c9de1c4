"""The quote as a paper."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import PaperRules
from artcheck.report.papers.blocks import Block, Bullets, Facts, Heading, Lines, Paper, Sign, Table
from artcheck.report.words import money, percent
from artcheck.units import MM_PER_INCH


def quote_paper(quote: OrderQuote, rules: PaperRules) -> Paper:
    """What the customer is asked to pay, for what, and on which terms."""
    number = f" {quote.number}" if quote.number else ""
    return Paper(
        title="Quote",
        sender=quote.shop,
        contact=rules.contact,
        facts=(
            ("Number", quote.number),
            ("Date", date_words(quote.date)),
            ("Valid until", _validity(quote)),
            ("For", quote.customer),
            *((("Order", quote.order),) if quote.order not in ("", quote.customer) else ()),
            *((("Needed by", date_words(quote.needed_by)),) if quote.needed_by else ()),
        ),
        blocks=tuple(_blocks(quote, rules)),
        foot=f"{quote.shop} · Quote{number}{demo_words(quote.demo_prices)}",
        page=rules.page,
    )


def date_words(date: dt.date | None) -> str:
    """26 November 2026; nothing for none."""
    return "" if date is None else f"{date.day} {date:%B} {date.year}"


def demo_words(demo: bool) -> str:
    """A warning wherever prices are invented."""
    return " · demo prices, invented" if demo else ""


def size_words(width_in: float, height_in: float, units: str) -> str:
    """Width by height in the shop's unit."""
    if units == "mm":
        return f"{width_in * MM_PER_INCH:.0f} × {height_in * MM_PER_INCH:.0f} mm"
    return f"{width_in:.2f} × {height_in:.2f} in"


def _validity(quote: OrderQuote) -> str:
    if quote.valid_until is not None:
        return date_words(quote.valid_until)
    if quote.valid_days is None:
        return ""
    days = "1 day" if quote.valid_days == 1 else f"{quote.valid_days:,} days"
    return f"{days} from the date above"


def _blocks(quote: OrderQuote, rules: PaperRules) -> Iterator[Block]:
    yield Heading("Garments")
    yield from garment_blocks(quote)
    yield Heading("Prints" if len(quote.prints) > 1 else "Print")
    yield Table(
        ("Art", "Place", "Size", "Printed as"),
        tuple(
            (
                p.art,
                p.placement or "–",
                size_words(p.width_in, p.height_in, rules.units),
                p.method_name,
            )
            for p in quote.prints
        ),
    )
    yield Heading("Price")
    yield _price(quote)
    yield Lines(tuple(_price_words(quote)))
    yield Facts(tuple(_promises(quote)))
    if quote.alternatives:
        yield from _alternatives(quote)
    if quote.to_settle:
        yield Heading("To settle before we print")
        yield Bullets(quote.to_settle)
    yield Heading("Terms")
    yield Bullets(quote.terms) if quote.terms else Facts((("Terms", ""),))
    yield Sign(("Accepted: name and signature", "Date"))


def garment_blocks(quote: OrderQuote) -> Iterator[Block]:
    """What is printed on and how many of each size; a line to write on where sizes are not told."""
    garment = quote.garment
    words = ", ".join(w for w in (garment.kind, garment.colour, garment.fabric) if w)
    yield Lines((f"{quote.pieces:,} × {words or 'garment'}",))
    if not quote.sizes:
        yield Facts((("Sizes", ""),))
        return
    yield Table(
        ("Size", "Pieces"),
        tuple((run.size, f"{run.quantity:,}") for run in quote.sizes),
        figures=(1,),
        totals=(("All sizes", f"{quote.pieces:,}"),),
        narrow=True,
    )


def _price(quote: OrderQuote) -> Table:
    rows = tuple(
        (line.what, "" if line.pieces is None else f"{line.pieces:,}", money(line.amount))
        for line in quote.lines
    )
    total = ("Total", "", f"{money(quote.price)}")
    return Table(("", "Pieces", f"Amount, {quote.currency}"), rows, figures=(1, 2), totals=(total,))


def _price_words(quote: OrderQuote) -> Iterator[str]:
    each = f"{money(quote.price_per_piece)} {quote.currency}"
    yield f"{each} a piece: the total divided by {quote.pieces:,}, rounded for show."
    if quote.garments_supplied:
        yield "The garments are supplied by you and are not in the price."
    elif not quote.garments_included:
        yield "The garments themselves are not in the price."


def _promises(quote: OrderQuote) -> Iterator[tuple[str, str]]:
    yield "Tax", quote.tax_line
    yield "Deposit", _deposit(quote)
    yield "Turnaround", quote.turnaround


def _deposit(quote: OrderQuote) -> str:
    if quote.deposit is None or quote.balance is None or quote.deposit_share is None:
        return ""
    if not quote.deposit:
        return "None asked."
    share = percent(quote.deposit_share)
    return (
        f"{money(quote.deposit)} {quote.currency} ({share}) with the order;"
        f" {money(quote.balance)} {quote.currency} remain."
    )


def _alternatives(quote: OrderQuote) -> Iterator[Block]:
    yield Heading("Other ways to print it")
    rows = tuple(
        (
            other.method_name,
            " ".join(other.accepts) or "–",
            money(other.price),
            money(other.price_per_piece),
        )
        for other in quote.alternatives
    )
    yield Table(
        ("Printed as", "What to know", f"Total, {quote.currency}", "A piece"),
        rows,
        figures=(2, 3),
        wide=1,
    )
