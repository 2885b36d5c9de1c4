"""The report as text for a terminal of 80 columns or more: the answer first, then its grounds.

Colour and weight help where the terminal has them; nothing depends on them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.base import Lab
from artcheck.domain.check import (
    CostReport,
    GroupReport,
    MethodReport,
    OrderReport,
    QuoteReport,
    Report,
)
from artcheck.domain.findings import Severity
from artcheck.report import words
from artcheck.report.ladder_words import ladders
from artcheck.report.words import NOTHING, SharedFinding, plain

_STYLES: dict[Severity, str] = {"stop": "bold red", "change": "bold yellow", "note": "bold"}
_QUIET = "dim"
_INDENT = 2


def render_text(report: Report, console: Console) -> None:
    """Print one print's report."""
    _print(console, report, alone=True)


def render_order_text(order: OrderReport, console: Console) -> None:
    """Print an order: every print's answer, the quote, each report, then what they share."""
    several = len(order.prints) > 1
    if several:
        for name, report in zip(order.names, order.prints, strict=True):
            answer = f"{plain(name)}: {plain(report.recommendation.headline)}"
            _paragraph(console, answer, "bold", indent=0)
        _quote(console, order.quote)
    for name, report in zip(order.names, order.prints, strict=True):
        if several:
            console.print()
            console.rule(Text(plain(name)), align="left", characters="-")
        _print(console, report, alone=not several)
    if several:
        _shared_end(console, order.prints)
    else:
        _quote(console, order.quote)


def render_steps(steps: Iterable[str], console: Console) -> None:
    """Print how a price is reckoned; nothing where there are no steps."""
    _bullets(console, "How the price is reckoned", tuple(steps))


def _print(console: Console, report: Report, *, alone: bool) -> None:
    """One print; what an order's prints share is left out unless it stands alone."""
    own, others = words.own_and_other_findings(report)
    notes = [shared for shared in own if shared.finding.severity == "note"]
    _answer(console, report)
    _findings(console, [shared for shared in own if shared not in notes], report)
    _methods(console, report)
    _quantities(console, report)
    _findings(console, notes, report)
    _inks(console, report)
    _brands(console, report)
    _art(console, report)
    _ladders(console, report)
    if alone:
        _shared_end(console, (report,))
    _findings(console, others, report, of_others=True)
    if alone:
        _price_list(console, report)


def _shared_end(console: Console, reports: Sequence[Report]) -> None:
    """What is said once for all prints: words to send, the press."""
    _bullets(console, "Ask the customer", _once(line for r in reports for line in r.questions))
    _bullets(console, "Tell the customer", _once(line for r in reports for line in r.messages))
    _press(console, reports)
    if len(reports) > 1:
        _price_list(console, reports[0])


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))


# --- the answer, findings -----------------------------------------------------------------------


def _answer(console: Console, report: Report) -> None:
    answer = report.recommendation
    _paragraph(console, answer.headline, "bold", indent=0)
    for reason in answer.reasons:
        _paragraph(console, reason, bullet="• ")
    _paragraph(console, words.job_words(report), _QUIET)


def _findings(
    console: Console, found: Sequence[SharedFinding], report: Report, *, of_others: bool = False
) -> None:
    for severity, heading in words.SEVERITIES.items():
        chosen = [shared for shared in found if shared.finding.severity == severity]
        if chosen and of_others:
            _heading(console, f"{heading}, other methods only")
        elif chosen:
            _heading(console, heading, _STYLES[severity])
        for shared in chosen:
            _finding(console, shared, report)


def _finding(console: Console, shared: SharedFinding, report: Report) -> None:
    finding = shared.finding
    _paragraph(console, f"{finding.text}{_concerned(shared, report)}", bullet="• ")
    if finding.change:
        _paragraph(console, f"Do: {finding.change}", indent=4)
    evidence = f"{words.evidence_words(finding.evidence)} ({finding.id})"
    _paragraph(console, evidence, _QUIET, indent=4)


def _concerned(shared: SharedFinding, report: Report) -> str:
    """Which methods share a finding, as far as that is not plain: all do, or the answer alone."""
    chosen = words.chosen_method(report)
    also = [name for name in shared.methods if chosen is None or name != chosen.name]
    if not also or len(shared.methods) == len(report.methods):
        return ""
    return f" [{'also ' if len(also) < len(shared.methods) else ''}{', '.join(also)}]"


# --- methods and money --------------------------------------------------------------------------


def _methods(console: Console, report: Report) -> None:
    _heading(console, f"Methods{_in_currency(report.methods)}")
    table = _table()
    table.padding = (0, 1, 0, 0)
    table.add_column("method")
    table.add_column("verdict", no_wrap=True)
    for name in ("sheets", "transfers", "cost", "price", "each"):
        table.add_column(name, justify="right", no_wrap=True)
    for method in words.ranked(report):
        _row(
            table,
            words.method_with_inks(method),
            words.VERDICTS[method.verdict],
            *_money_cells(method.cost),
            style=_row_style(method, report),
        )
    console.print(table)
    for name, reason in words.why_not(report):
        _paragraph(console, f"{name}: {reason}", bullet="• ")


def _in_currency(methods: Sequence[MethodReport]) -> str:
    currency = next((m.cost.currency for m in methods if m.cost), None)
    return f", {currency}" if currency else ""


def _row_style(method: MethodReport, report: Report) -> str:
    if method.id == report.recommendation.method:
        return "bold"
    return _QUIET if method.verdict == "unsuitable" or not method.recommendable else ""


def _money_cells(cost: CostReport | None) -> list[str]:
    if cost is None:
        return [NOTHING] * 5
    return [
        words.sheets(cost),
        *map(words.money, (cost.decoration, cost.total, cost.price_total, cost.price_per_piece)),
    ]


def _quote(console: Console, quote: QuoteReport | None) -> None:
    if quote is None:
        return
    _heading(console, f"Quote for {quote.pieces:,} pieces, {quote.currency}")
    table = _table("what", "quantity", "at", "amount")
    for line in quote.lines:
        _row(
            table,
            line.what,
            f"{line.quantity:f}",
            *map(words.money, (line.unit_amount, line.amount)),
        )
    _row(table, "cost", "", "", words.money(quote.cost))
    each = f"{words.money(quote.price_per_piece)} each"
    _row(table, "price", "", each, words.money(quote.price), style="bold")
    console.print(table)
    for note in quote.notes:
        _paragraph(console, note)
    spare = [
        f"{size.garment} {size.size} {size.spares}".strip() for size in quote.spares if size.spares
    ]
    if spare:
        _paragraph(console, f"Spare garments by size: {', '.join(spare)}.")


def _quantities(console: Console, report: Report) -> None:
    rows = words.quantity_rows(report)
    if len(rows) > 1:
        _heading(console, "Cheapest by quantity")
        table = _table("pieces", "", show_header=False)
        for row in rows:
            close = "close call" if row.close else ""
            _row(table, Text(row.quantities, justify="right"), row.answer, close)
        console.print(table)
    _bullets(console, "What would change it", report.recommendation.would_change_it)


def _ladders(console: Console, report: Report) -> None:
    for ladder in ladders(report):
        _heading(console, f"Fewer inks: loss and cost, {ladder.method}")
        table = _table("inks", "mean dE00", "95 % within", "worst", "cost", "each", "printed in")
        for row in ladder.rows:
            _row(
                table,
                str(row.inks),
                *(row.mean, row.p95, row.worst, row.cost, row.each, row.names),
                style="bold" if row.recommended else "",
            )
        console.print(table)
        if ladder.reason:
            _paragraph(console, f"Recommended: {ladder.reason}", bullet="• ")


# --- colours ------------------------------------------------------------------------------------


def _inks(console: Console, report: Report) -> None:
    _heading(console, "Inks: " + words.ink_count_words(report.inks))
    if not report.inks.list:
        return
    garment = next((c.garment for c in report.contrast), None)
    table = _table("ink", "", "share", "in²", "nearest stock, dE00", "print")
    if garment is not None:
        table.add_column(Text(f"on {plain(garment)}"))
    for ink, contrast in words.inks_with_contrast(report):
        name = plain(ink.name) if ink.name != ink.hex else ""
        row: list[str | Text] = [
            _with_swatch(console, ink.hex, name),
            ink.hex,
            words.percent(ink.share),
            f"{ink.area_in2:.1f}",
            words.stock_words(ink.stock),
            ink.plan,
        ]
        if garment is not None:
            row.append(words.contrast_words(contrast))
        _row(table, *row)
    console.print(table)


def _with_swatch(console: Console, hex_text: str, name: str) -> Text:
    """The name after a block of its colour, where the terminal shows colours."""
    if not console.color_system:
        return Text(name)
    return Text().append("   ", style=f"on {hex_text}").append(f" {name}")


def _brands(console: Console, report: Report) -> None:
    brands = report.brand_colours
    if not brands:
        return
    _heading(console, "Brand colours (differences in dE00)")
    table = _table("asked for", "full-colour print", "nearest ink", "so", "in the file")
    for brand in brands:
        name = f"{brand.name}, critical" if brand.critical else brand.name
        _row(
            table,
            _lab_swatch(console, brand.target_lab, plain(name)),
            _lab_swatch(console, brand.reachable_lab, words.full_colour_words(brand)),
            words.stock_words(brand.nearest_ink),
            "mix it" if brand.plan == "mixed" else "use it",
            words.in_file_words(brand),
        )
    console.print(table)
    for brand in brands:
        if brand.text:
            _paragraph(console, brand.text, bullet="• ")
    conditions = _once(brand.print_condition for brand in brands)
    _paragraph(console, f"Reckoned for {words.listed(conditions)}.", _QUIET)


def _lab_swatch(console: Console, lab: Lab, text: str) -> Text:
    return _with_swatch(console, lab_to_hex(lab), text)


# --- the art, the press -------------------------------------------------------------------------


def _art(console: Console, report: Report) -> None:
    _heading(console, "The art: " + report.artwork.file)
    table = _table("", "", show_header=False)
    for name, value in words.art_facts(report):
        _row(table, name, value)
    if report.artwork.declared_inks:
        _row(table, "inks it names", ", ".join(report.artwork.declared_inks))
    console.print(table)
    if report.groups:
        _heading(console, f"{len(report.groups)} separate designs")
        console.print(_groups(report.groups))


def _groups(groups: Sequence[GroupReport]) -> Table:
    table = _table("design", "inks", "real dpi", "thinnest line", "narrowest gap")
    for number, group in enumerate(groups, start=1):
        _row(
            table,
            str(number),
            NOTHING if group.inks is None else str(group.inks),
            NOTHING if group.true_dpi is None else f"{group.true_dpi:.0f}",
            words.points(group.thinnest_line_pt),
            words.points(group.narrowest_gap_pt),
        )
    return table


def _press(console: Console, reports: Sequence[Report]) -> None:
    methods = {m.id: m for m in map(words.chosen_method, reports) if m is not None and m.press}
    if not methods:
        return
    _heading(console, "At the press")
    presses = [(m.name, m.press) for m in methods.values() if m.press is not None]
    for name, press in presses:
        _paragraph(console, f"{name}: {words.press_settings(press)}", "bold")
    for caution in _once(line for _, press in presses for line in press.cautions):
        _paragraph(console, caution, bullet="• ")


def _price_list(console: Console, report: Report) -> None:
    if report.demo_prices:
        console.print()
        _paragraph(
            console,
            f"Prices are the invented demo list of {report.shop}. Put in your own with --shop.",
            _QUIET,
            indent=0,
        )


# --- layout -------------------------------------------------------------------------------------

_NUMBERS = {
    "share",
    "in²",
    "quantity",
    "at",
    "amount",
    "inks",
    "mean dE00",
    "95 % within",
    "worst",
    "cost",
    "each",
    "design",
    "real dpi",
    "thinnest line",
    "narrowest gap",
}
"""Columns that stand right-aligned, so that digits stand under digits."""


def _table(*columns: str, show_header: bool = True) -> Table:
    table = Table(
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
        show_header=show_header,
        header_style=_QUIET,
    )
    for name in columns:
        right = name in _NUMBERS
        table.add_column(name, justify="right" if right else "left", no_wrap=right)
    return table


def _row(table: Table, *cells: str | Text, style: str = "") -> None:
    """Add a row in which no cell's text is taken for markup."""
    table.add_row(*(Text(plain(c)) if isinstance(c, str) else c for c in cells), style=style)


def _heading(console: Console, text: str, style: str = "bold") -> None:
    console.print()
    _paragraph(console, text, style, indent=0)


def _bullets(console: Console, heading: str, lines: Sequence[str]) -> None:
    if lines:
        _heading(console, heading)
        for line in lines:
            _paragraph(console, line, bullet="• ")


def _paragraph(
    console: Console, text: str, style: str = "", *, bullet: str = "", indent: int = _INDENT
) -> None:
    """Wrapped text whose later lines stand under the first; no blanks at the ends of lines."""
    hang = " " * (indent + len(bullet))
    lines = Text(plain(text)).wrap(console, max(console.width - len(hang), 20))
    for line, first in _lines(line.plain for line in lines):
        lead = " " * indent + bullet if first else hang
        console.print(
            Text(lead + line, style=style),
            no_wrap=True,
            overflow="ignore",
            crop=False,
            soft_wrap=True,
        )


def _lines(lines: Iterable[str]) -> Iterator[tuple[str, bool]]:
    """Each line without blanks at its end, and whether it is the first."""
    for number, line in enumerate(lines):
        yield line.rstrip(), number == 0
