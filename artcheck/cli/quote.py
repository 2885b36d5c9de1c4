"""The quote command: an order's price, and the papers that leave the shop."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from rich.console import Console

from artcheck.cli.check import with_profile
from artcheck.cli.output import Outputs, progress_on_stderr, write_report
from artcheck.domain.order import Order
from artcheck.errors import UsageError


def run_quote(
    order_file: Path,
    *,
    date: str | None,
    number: str | None,
    shop_file: Path | None,
    profile: Path | None,
    json_to: str | None,
    out: Path | None,
    overwrite: bool,
) -> None:
    """Quote the order and write what was asked for, whole or not at all.

    Raises
    ------
    ArtcheckError
        Every input and output is looked at before the long work begins.
    """
    from artcheck import pipeline
    from artcheck.report.data import to_json
    from artcheck.report.files import write_atomic
    from artcheck.report.papers import job_papers
    from artcheck.report.quote_text import render_quote
    from artcheck.shop import load_order, load_shop

    outputs = Outputs.opened(json_to, out, overwrite=overwrite)
    shop = with_profile(load_shop(shop_file), profile)
    order = _dated(load_order(order_file), date, number)
    warnings: tuple[str, ...] = ()
    with progress_on_stderr() as progress:
        measured = pipeline.measure_order(order, progress=progress)
        progress("pricing")
        checked = pipeline.evaluate_order(measured, order, shop)
        quoted = pipeline.quote_order(measured, order, checked, shop)
        if outputs.folder is not None:
            progress("writing the papers")
            arts = map(pipeline.cut_out_with_fades, order.prints, measured)
            papers = job_papers(order, checked, quoted, shop, arts)
            warnings = papers.warnings
            with outputs.folder as folder:
                report = checked.prints[0] if len(checked.prints) == 1 else checked
                write_report(folder, report, order)
                for name, data in papers.files.items():
                    write_atomic(folder / name, data)

    def show_on(console: Console) -> None:
        render_quote(quoted, console)
        if out is not None:
            console.print(f"\nPapers: {out}", markup=False)

    outputs.tell(lambda: to_json(quoted), show_on)
    for warning in warnings:
        Console(stderr=True, highlight=False).print(warning, markup=False, soft_wrap=True)


def _dated(order: Order, date: str | None, number: str | None) -> Order:
    """The order under the date and number of the command line."""
    over: dict[str, object] = {}
    if date is not None:
        try:
            over["date"] = dt.date.fromisoformat(date.strip())
        except ValueError:
            raise UsageError(f"The date '{date}' is none. Write it like 2026-11-26.") from None
    if number is not None:
        over["number"] = number.strip()
    return order.model_copy(update=over)
