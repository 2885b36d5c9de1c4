"""Plays the eight orders of the invented Brindlefenn Print Room."""

from __future__ import annotations

from importlib import resources
from itertools import count
from pathlib import Path

from rich.console import Console
from rich.table import Table

from artcheck.cli.output import progress_on_stderr, text_of, write_report
from artcheck.domain.check import OrderReport
from artcheck.domain.order import Order
from artcheck.report.files import JobFolder, write_atomic

FOLDER = "artcheck-demo"


def run_demo(out: Path | None, *, overwrite: bool) -> None:
    """Check the eight orders, write their reports, and show the eight answers.

    Raises
    ------
    OutputError
        The folder exists or cannot be written.
    """
    from artcheck import pipeline
    from artcheck.shop import load_order, load_shop

    job = JobFolder(out or _free_folder(), overwrite=overwrite)
    shop = load_shop()
    answers: list[OrderReport] = []
    with (
        resources.as_file(resources.files("artcheck") / "demo") as demo,
        progress_on_stderr() as progress,
        job as folder,
    ):
        for file in sorted((demo / "orders").glob("*.toml")):
            progress(f"checking {file.stem}")
            order = load_order(file)
            answer = pipeline.check_order(order, shop)
            _write(folder, file.stem, answer, order)
            answers.append(answer)
    _show(answers, job.path)


def _free_folder() -> Path:
    """The first unused name, so that an earlier demo is kept."""
    names = (FOLDER if n == 1 else f"{FOLDER}-{n}" for n in count(1))
    return next(path for path in map(Path, names) if not path.exists())


def _write(folder: Path, name: str, answer: OrderReport, order: Order) -> None:
    report = answer.prints[0] if len(answer.prints) == 1 else answer
    place = folder / name
    place.mkdir()
    write_report(place, report, order)
    write_atomic(place / "report.txt", text_of(report).encode())


def _show(answers: list[OrderReport], folder: Path) -> None:
    console = Console(highlight=False)
    table = Table("order", "answer", "cost", "price", "each", box=None, pad_edge=False)
    for column in table.columns[2:]:
        column.justify = "right"
    for answer in answers:
        methods = dict.fromkeys(_method_name(r) for r in answer.prints)
        quote = answer.quote
        figures = (
            [str(quote.cost), str(quote.price), str(quote.price_per_piece)] if quote else ["–"] * 3
        )
        table.add_row(answer.order, ", ".join(methods), *figures)
    console.print("Eight orders of an invented print room (its prices are invented too):\n")
    console.print(table)
    console.print(f"\nReports: {folder}", markup=False)


def _method_name(report: object) -> str:
    from artcheck.domain.check import Report

    assert isinstance(report, Report)
    chosen = report.recommendation.method
    return next((m.name for m in report.methods if m.id == chosen), "none on hand")
