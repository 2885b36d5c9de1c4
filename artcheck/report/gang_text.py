"""The gang report as text: the answer, then each method's layouts and what they cost."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.domain.gang import GangLayout, GangMethod, GangReport
from artcheck.report.words import plain


def render_gang_text(report: GangReport, console: Console) -> None:
    """Print the gangs of an order."""
    _line(console, report.answer, "bold")
    for method in report.methods:
        console.print()
        _line(console, method.name, "bold")
        for words in _lines_of(method, report.currency):
            _line(console, "  " + words)
        for layout in method.layouts:
            _layout(console, layout, method)
    if report.demo_prices:
        console.print()
        _line(console, f"Prices are the invented demo list of {report.shop}.", "dim")


def _lines_of(method: GangMethod, currency: str) -> Iterator[str]:
    for out in method.left_out:
        yield f"left out: {out.design}: {out.why}"
    if method.cost is None or method.saving is None:
        return
    sure = "proven" if method.proven else f"at least {method.lower_bound} are needed"
    bought = f", {method.bought} bought" if method.bought > method.needed else ""
    yield f"{method.needed} {method.unit} needed ({sure}){bought}"
    verdict = f"saves {method.saving}" if method.ganged else "ganging saves nothing"
    yield f"together {method.cost} {currency}, apart {method.cost_alone}: {verdict}"
    yield from method.notes


def _layout(console: Console, layout: GangLayout, method: GangMethod) -> None:
    width, height = layout.sheet_in
    times = f", printed {layout.sheets_bought} times" if method.unit == "sheets" else ""
    inks = f", {', '.join(layout.inks)}" if layout.inks else ""
    _line(console, f"  layout {width:g} x {height:g} in{times}, {layout.covered:.0%} covered{inks}")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name in ("    design", "on a sheet", "in all", ""):
        table.add_column(name, justify="left" if "design" in name else "right")
    for copies in layout.copies:
        free = "free of charge" if copies.free else ""
        table.add_row(
            Text(f"    {plain(copies.design)}"), str(copies.per_sheet), str(copies.made), free
        )
    console.print(table)


def _line(console: Console, words: str, style: str = "") -> None:
    console.print(Text(plain(words), style=style))
