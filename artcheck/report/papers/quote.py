"""The quote as a paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from artcheck.domain.check import GarmentReport
from artcheck.domain.quote import OrderQuote, QuotedPrint
from artcheck.domain.shop import PaperRules
from artcheck.report.papers.blocks import Block, Bullets, Facts, Heading, Lines, Paper, Sign, Table
from artcheck.report.papers.sizes import date_words, in_units, size_words
from artcheck.report.words import listed, money, percent


def quote_paper(quote: OrderQuote, rules: PaperRules) -> Paper:
    """What the customer is asked to pay, for what, and on which terms."""
    head = order_paper("Quote", quote, rules, tuple(_blocks(quote, rules)))
    number, date, *others = head.facts
    return replace(
        head,
        facts=(number, date, ("Valid until", _validity(quote)), *others),
        foot=f"{head.foot} · demo prices, invented" if quote.demo_prices else head.foot,
    )


def order_paper(
    title: str, quote: OrderQuote, rules: PaperRules, blocks: tuple[Block, ...]
) -> Paper:
    """A paper of this order: every one bears its number, date and customer."""
    number = f" {quote.number}" if quote.number else ""
    facts = [
        ("Number", quote.number),
        ("Date", date_words(quote.date)),
        ("For", quote.customer),
    ]
    if quote.order not in ("", quote.customer):
        facts.append(("Order", quote.order))
    if quote.needed_by:
        facts.append(("Needed by", date_words(quote.needed_by)))
    return Paper(
        title=title,
        sender=quote.shop,
        contact=rules.contact,
        facts=tuple(facts),
        blocks=blocks,
        foot=f"{quote.shop} · {title}{number}",
        page=rules.page,
    )


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
                _where(p),
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
        yield from _alternatives(quote, rules.units)
    if quote.to_settle:
        yield Heading("To settle before we print")
        yield Bullets(tuple(in_units(line, rules.units) for line in quote.to_settle))
    yield Heading("Terms")
    yield Bullets(quote.terms) if quote.terms else Facts((("Terms", ""),))
    yield Sign(("Accepted: name and signature", "Date"))


def _where(print_: QuotedPrint) -> str:
    place = ", ".join(w for w in (print_.garment, print_.placement) if w) or "–"
    return f"{place}, sizes {', '.join(print_.sizes)}" if print_.sizes else place


def garment_blocks(quote: OrderQuote) -> Iterator[Block]:
    """What is printed on and how many of each size; a line to write on where sizes are not told."""
    for one in quote.garments:
        yield Lines((f"{one.garment.pieces or 0:,} × {words_of(one.garment)}",))
        if not one.sizes:
            yield Facts((("Sizes", ""),))
            continue
        yield Table(
            ("Size", "Pieces"),
            tuple((run.size, f"{run.quantity:,}") for run in one.sizes),
            figures=(1,),
            totals=(("All sizes", f"{one.garment.pieces or 0:,}"),),
            narrow=True,
        )


def capital(words: str) -> str:
    """The first letter made large, the rest as it is."""
    return words[:1].upper() + words[1:]


def words_of(garment: GarmentReport) -> str:
    """Kind, colour and fabric of one garment."""
    return ", ".join(w for w in (garment.kind or "garment", garment.colour, garment.fabric) if w)


def _price(quote: OrderQuote) -> Table:
    rows = tuple(
        (line.what, "" if line.pieces is None else f"{line.pieces:,}", money(line.amount))
        for line in quote.lines
    )
    total = ("Total", "", f"{money(quote.price)}")
    return Table(
        ("What", "Pieces", f"Amount, {quote.currency}"), rows, figures=(1, 2), totals=(total,)
    )


def _price_words(quote: OrderQuote) -> Iterator[str]:
    each = f"{money(quote.price_per_piece)} {quote.currency}"
    yield f"{each} a piece: the total divided by {quote.pieces:,}, rounded for show."
    if quote.garments_supplied:
        yield "The garments are supplied by you and are not in the price."
    elif not any(one.included for one in quote.garments):
        yield "The garments themselves are not in the price."
    elif not quote.garments_included:
        missing = listed([one.name for one in quote.garments if not one.included])
        yield f"The price is without the garments themselves of: {missing}."


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


def _alternatives(quote: OrderQuote, units: str) -> Iterator[Block]:
    yield Heading("Other ways to print it")
    rows = tuple(
        (
            other.method_name,
            in_units(" ".join(other.accepts), units) or "–",
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
