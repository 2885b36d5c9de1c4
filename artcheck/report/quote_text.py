"""A quote as text for a terminal: the price, its lines, what is promised, the other ways."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.domain.quote import OrderQuote
from artcheck.report.words import money, plain


def render_quote(quote: OrderQuote, console: Console) -> None:
    """Print one quote."""
    each = f"{money(quote.price_per_piece)} each"
    price = f"{money(quote.price)} {quote.currency}"
    title = plain(quote.customer or quote.order or "Quote")
    console.print(Text(f"{title}: {price} for {quote.pieces:,} pieces ({each}).", style="bold"))
    if quote.demo_prices:
        console.print(Text(f"Prices are the invented demo list of {plain(quote.shop)}."))
    console.print()
    console.print(_lines(quote))
    if quote.alternatives:
        console.print("\nOther ways to print it:")
        for other in quote.alternatives:
            console.print(
                Text(
                    f"  - {plain(other.method_name)}: {money(other.price)} {quote.currency},"
                    f" {money(other.price_per_piece)} each"
                )
            )
            for words in other.accepts:
                console.print(Text(f"    {plain(words)}"))
    _list(console, "To settle before printing", quote.to_settle)
    _list(console, "Not told, left blank on the papers", quote.missing)


def _lines(quote: OrderQuote) -> Table:
    table = Table("", "pieces", quote.currency, box=None, pad_edge=False)
    table.columns[1].justify = table.columns[2].justify = "right"
    for line in quote.lines:
        pieces = "" if line.pieces is None else f"{line.pieces:,}"
        table.add_row(Text(plain(line.what)), pieces, money(line.amount))
    table.add_row("Total", "", money(quote.price), style="bold")
    if quote.deposit:
        table.add_row("Deposit with the order", "", money(quote.deposit))
    return table


def _list(console: Console, title: str, lines: tuple[str, ...]) -> None:
    if lines:
        console.print(f"\n{title}:")
        for line in lines:
            console.print(Text(f"  - {plain(line)}"))
