"""The report as text: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from artcheck.domain.check import (
    BrandColourReport,
    CostReport,
    InkReport,
    MethodReport,
    OrderReport,
    QuoteReport,
    Recommendation,
    Report,
)
from artcheck.domain.findings import Finding

VERDICTS = {
    "suits": "suits",
    "suits_with_changes": "suits with changes",
    "unsuitable": "unsuitable",
}
SEVERITIES = {"stop": "Stop", "change": "Change", "note": "Know"}
_STYLES = {"stop": "bold red", "change": "yellow", "note": ""}
NOTHING = "–"


def render_text(report: Report, console: Console) -> None:
    """Print one print's report."""
    answer = report.recommendation
    console.print(Text(plain(answer.headline), style="bold"))
    _lines(console, answer.reasons)
    _heading(console, "Methods")
    console.print(_methods_table(report.methods))
    _findings(console, report)
    _inks(console, report)
    _brands(console, report.brand_colours)
    _art(console, report)
    _quantities(console, report)
    _words(console, "Ask the customer", report.questions)
    _words(console, "Tell the customer", report.messages)
    _press(console, report)
    if report.demo_prices:
        console.print(
            Text(f"\nPrices: the invented list of {report.shop}. Use your own with --shop.", "dim")
        )


def render_order_text(whole: OrderReport, console: Console) -> None:
    """Print an order: each print's answer, the quote, then each report."""
    for report in whole.prints:
        name = plain(report.artwork.file)
        console.print(Text(f"{name}: {plain(report.recommendation.headline)}", style="bold"))
    if whole.quote is not None:
        _quote(console, whole.quote)
    for report in whole.prints:
        console.rule(Text(plain(report.artwork.file)), align="left")
        render_text(report, console)


def plain(text: str) -> str:
    """Text from a stranger's file made harmless: control and direction characters shown as ?."""
    return "".join(c if c.isprintable() else "?" for c in text)


# --- methods and money --------------------------------------------------------------------------


def _methods_table(methods: Sequence[MethodReport]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("method")
    table.add_column("verdict")
    for name in ("inks", "sheets", "transfers", "cost", "price", "each"):
        table.add_column(name, justify="right")
    for method in methods:
        style = "dim" if method.verdict == "unsuitable" or not method.recommendable else ""
        table.add_row(
            Text(plain(method.name)),
            VERDICTS[method.verdict],
            NOTHING if method.inks is None else str(method.inks),
            *_money_cells(method.cost),
            style=style,
        )
    return table


def _money_cells(cost: CostReport | None) -> list[str]:
    if cost is None:
        return [NOTHING] * 5
    return [
        _sheets(cost),
        str(cost.decoration),
        str(cost.total),
        str(cost.price_total),
        str(cost.price_per_piece),
    ]


def _sheets(cost: CostReport) -> str:
    if cost.sheets_bought is None:
        return NOTHING
    if cost.sheets_needed == cost.sheets_bought:
        return str(cost.sheets_bought)
    return f"{cost.sheets_needed}, buy {cost.sheets_bought}"


def _quote(console: Console, quote: QuoteReport) -> None:
    _heading(console, f"Quote for {quote.pieces} pieces")
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 0))
    table.add_column()
    for _ in range(3):
        table.add_column(justify="right")
    for line in quote.lines:
        table.add_row(
            Text(plain(line.what)), f"{line.quantity:f}", str(line.unit_amount), str(line.amount)
        )
    table.add_row("cost", "", "", str(quote.cost), style="bold")
    table.add_row(
        f"price in {quote.currency}", "", f"{quote.price_per_piece} each", str(quote.price)
    )
    console.print(table)
    _lines(console, quote.notes)


# --- findings -----------------------------------------------------------------------------------


def grouped(methods: Sequence[MethodReport]) -> list[tuple[Finding, tuple[str, ...]]]:
    """Each finding once, with the names of the methods that share it; worst first."""
    names: dict[tuple[str, str, str], list[str]] = {}
    first: dict[tuple[str, str, str], Finding] = {}
    for method in methods:
        for finding in method.findings:
            key = (finding.id, finding.severity, finding.text)
            first.setdefault(key, finding)
            names.setdefault(key, []).append(method.name)
    order = {"stop": 0, "change": 1, "note": 2}
    return sorted(
        ((first[key], tuple(names[key])) for key in first), key=lambda p: order[p[0].severity]
    )


def _findings(console: Console, report: Report) -> None:
    found = grouped(report.methods)
    for severity, words in SEVERITIES.items():
        chosen = [pair for pair in found if pair[0].severity == severity]
        if not chosen:
            continue
        _heading(console, words)
        for finding, methods in chosen:
            where = "" if len(methods) == len(report.methods) else f" [{', '.join(methods)}]"
            line = Text("• ", style=_STYLES[severity])
            line.append(plain(finding.text))
            line.append(plain(where), style="dim")
            console.print(Padding(line, (0, 0, 0, 2)))
            _under(console, _details(finding))


def _details(finding: Finding) -> Iterator[str]:
    if finding.change:
        yield f"→ {finding.change}"
    evidence = finding.evidence
    if evidence.limit is not None:
        yield f"limit {evidence.limit} {evidence.unit}: {evidence.limit_source}  ({finding.id})"
    else:
        yield f"{evidence.limit_source}  ({finding.id})"


def _under(console: Console, lines: Iterable[str]) -> None:
    for line in lines:
        style = "" if line.startswith("→") else "dim"
        console.print(Padding(Text(plain(line), style=style), (0, 0, 0, 4)))


# --- colours ------------------------------------------------------------------------------------


def _inks(console: Console, report: Report) -> None:
    count = report.inks.count
    words = "no ink count: a photograph" if count is None else str(count)
    if report.inks.also_plausible:
        words += f", or {', '.join(map(str, report.inks.also_plausible))}"
    _heading(console, f"Inks ({words})")
    if not report.inks.list:
        return
    contrast = {c.ink: c for c in report.contrast}
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name, justify in (
        ("", "left"),
        ("ink", "left"),
        ("share", "right"),
        ("in²", "right"),
        ("L* a* b*", "right"),
        ("nearest stock ink", "left"),
        ("print", "left"),
        ("on the garment", "left"),
    ):
        table.add_column(name, justify=justify)  # type: ignore[arg-type]
    for ink in report.inks.list:
        seen = contrast.get(ink.name)
        table.add_row(
            swatch(ink.hex),
            Text(_ink_words(ink)),
            f"{ink.share:.1%}",
            f"{ink.area_in2:.1f}",
            "{:.0f} {:.0f} {:.0f}".format(*ink.lab),
            Text(_stock_words(ink)),
            ink.plan,
            NOTHING if seen is None else f"{seen.verdict} ({seen.contrast_ratio:.1f})",
        )
    console.print(table)


def _ink_words(ink: InkReport) -> str:
    name = plain(ink.name)
    return name if name == ink.hex else f"{name} {ink.hex}"


def _stock_words(ink: InkReport) -> str:
    return NOTHING if ink.stock is None else f"{ink.stock.name}, {ink.stock.delta_e_2000:.1f} dE00"


def swatch(hex_text: str) -> Text:
    """A block of colour; blank where the screen shows none."""
    return Text("  ", style=f"on {hex_text}")


def _brands(console: Console, brands: Sequence[BrandColourReport]) -> None:
    if not brands:
        return
    _heading(console, "Brand colours")
    for brand in brands:
        near = brand.nearest_ink
        parts = [
            f"full-colour print {brand.delta_e_2000:.1f} dE00 away ({brand.verdict})",
            f"{near.name} {near.delta_e_2000:.1f}" if near else "no stock ink",
            f"spot: {brand.plan}",
        ]
        if brand.art_delta_e_2000 is not None:
            parts.append(f"in the file {brand.art_delta_e_2000:.1f} away")
        critical = ", critical" if brand.critical else ""
        line = Text("• ").append(f"{plain(brand.name)}{critical}: ", style="bold")
        console.print(Padding(line.append("; ".join(parts)), (0, 0, 0, 2)))
    condition = f"reckoned for {brands[0].print_condition}"
    console.print(Padding(Text(condition, style="dim"), (0, 0, 0, 2)))


# --- the art, quantities, words -----------------------------------------------------------------


def _art(console: Console, report: Report) -> None:
    _heading(console, "The art")
    _lines(console, _art_lines(report))


def _art_lines(report: Report) -> Iterator[str]:
    art, printed = report.artwork, report.printed
    width, height = art.pixels
    yield f"{plain(art.file)}: {art.kind}, {width} x {height} px; {report.background.reason}"
    yield (
        f"printed {printed.width_in:.2f} x {printed.height_in:.2f} in,"
        f" {printed.ink_area_in2:.1f} in² of ink ({printed.coverage:.0%} of the box);"
        f" {report.tone.kind}"
    )
    if report.resolution is not None:
        seen = report.resolution
        yield (
            f"{seen.effective_dpi:.0f} dpi in the file, {seen.true_dpi:.0f} real;"
            f" sharp up to {seen.largest_width_in:.1f} in wide"
        )
    detail = report.detail
    yield (
        f"thinnest line {_pt(detail.thinnest_line_pt)},"
        f" narrowest gap {_pt(detail.narrowest_gap_pt)},"
        f" smallest letters {_pt(detail.smallest_letters_pt)}"
    )
    if report.groups:
        yield f"{len(report.groups)} separate designs on the page"


def _pt(value: float | None) -> str:
    return "none found" if value is None else f"{value:.2f} pt"


def _quantities(console: Console, report: Report) -> None:
    answer = report.recommendation
    if len(answer.flips) > 1:
        _heading(console, "Cheapest by quantity")
        names = {m.id: m.name for m in report.methods} | {"tie": "either"}
        _lines(
            console,
            [f"{f.from_quantity}–{f.to_quantity}: {names[f.method]}" for f in answer.flips],
        )
    _words(console, "What would change it", answer.would_change_it)
    _words(console, "Why not the others", _why_not(answer, report))


def _why_not(answer: Recommendation, report: Report) -> list[str]:
    names = {m.id: m.name for m in report.methods}
    return [f"{names[a.method]}: {a.why_not}" for a in answer.alternatives]


def _press(console: Console, report: Report) -> None:
    chosen = next((m for m in report.methods if m.id == report.recommendation.method), None)
    if chosen is None or chosen.press is None:
        return
    press = chosen.press
    _heading(console, "At the press")
    settings = (
        f"{press.temperature_f:g} F, {press.seconds:g} s, {press.pressure} pressure,"
        f" peel: {press.peel}"
    )
    _lines(console, (settings, *press.cautions))


def _words(console: Console, heading: str, lines: Sequence[str]) -> None:
    if lines:
        _heading(console, heading)
        _lines(console, lines)


def _heading(console: Console, words: str) -> None:
    console.print(Text(f"\n{words}", style="bold underline"))


def _lines(console: Console, lines: Iterable[str]) -> None:
    for line in lines:
        console.print(Padding(Text(plain(line)), (0, 0, 0, 2)))
