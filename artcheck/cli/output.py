"""Where results go: the screen, a JSON file, a folder. All checked before the long work."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from artcheck.domain.check import OrderReport, Report
from artcheck.domain.order import Order
from artcheck.report.files import JobFolder, check_writable_file, write_atomic
from artcheck.report.text import render_order_text, render_steps, render_text

if TYPE_CHECKING:
    from artcheck.report.pictures import Picture

STDOUT = "-"


@dataclass(frozen=True, slots=True)
class Outputs:
    """The places that a run was asked to write to."""

    json_to: str | None
    folder: JobFolder | None
    overwrite: bool = False

    @classmethod
    def opened(cls, json_to: str | None, out: Path | None, *, overwrite: bool) -> Outputs:
        """Look at every place before measuring.

        Raises
        ------
        OutputError
            A place cannot be written.
        """
        if json_to is not None and json_to != STDOUT:
            check_writable_file(Path(json_to), overwrite=overwrite)
        folder = None if out is None else JobFolder(out, overwrite=overwrite)
        return cls(json_to, folder, overwrite)

    def write(self, report: Report | OrderReport, order: Order, steps: Iterable[str] = ()) -> None:
        """Write everything: the folder first, the screen last, the price's steps at its end."""
        if self.folder is not None:
            with self.folder as folder:
                write_report(folder, report, order)
        self.tell(lambda: _json(report), lambda console: show(report, console, steps))

    def tell(self, json: Callable[[], str], show_on: Callable[[Console], None]) -> None:
        """The JSON where it was asked for, and words on the screen unless that holds the JSON."""
        if self.json_to == STDOUT:
            sys.stdout.write(json())
            return
        if self.json_to is not None:
            write_atomic(Path(self.json_to), json().encode(), overwrite=self.overwrite)
        show_on(Console(highlight=False))


def _json(report: Report | OrderReport) -> str:
    from artcheck.report.data import to_json

    return to_json(report)


def show(report: Report | OrderReport, console: Console, steps: Iterable[str] = ()) -> None:
    """The text report, of one print or a whole order."""
    if isinstance(report, OrderReport):
        render_order_text(report, console)
    else:
        render_text(report, console)
    render_steps(steps, console)


def write_report(folder: Path, report: Report | OrderReport, order: Order) -> None:
    """report.json and report.html of one job; the page shows the order's art."""
    from artcheck.report.page import render_order_page, render_page

    pictures = tuple(_pictures(report, order))
    write_atomic(folder / "report.json", _json(report).encode())
    page = (
        render_order_page(report, pictures)
        if isinstance(report, OrderReport)
        else render_page(report, pictures)
    )
    write_atomic(folder / "report.html", page.encode())


def _pictures(report: Report | OrderReport, order: Order) -> Iterator[Picture]:
    """Each print's art on the garment; one file's pixels are held at a time."""
    from artcheck.pipeline import cut_out
    from artcheck.report.pictures import picture_on

    reports: Sequence[Report] = report.prints if isinstance(report, OrderReport) else (report,)
    for print_, one in zip(order.prints, reports, strict=True):
        yield picture_on(cut_out(print_), one.garment.hex)


def text_of(report: Report | OrderReport, width: int = 100) -> str:
    """The text report without colour, for a file."""
    console = Console(width=width, file=io.StringIO(), highlight=False)
    with console.capture() as captured:
        show(report, console)
    return "\n".join(line.rstrip() for line in captured.get().splitlines()) + "\n"


@contextmanager
def progress_on_stderr() -> Iterator[Callable[[str], None]]:
    """A status line on standard error while work goes on; silent where that is no terminal."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda _: None
        return
    with console.status("reading") as status:
        yield lambda words: status.update(_plain(words))


def _plain(words: str) -> str:
    """File names may hold markup or control characters."""
    return "".join(c if c.isprintable() else "?" for c in words).replace("[", r"\[")
