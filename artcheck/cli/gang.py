"""The gang command: an order's prints together on sheets or a roll."""

from __future__ import annotations

from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from artcheck.cli.output import Outputs, progress_on_stderr
from artcheck.domain.gang import GangReport

if TYPE_CHECKING:
    from rich.console import Console


def run_gang(
    order_file: Path,
    *,
    shop_file: Path | None,
    json_to: str | None,
    out: Path | None,
    overwrite: bool,
) -> None:
    """Lay the order out, price it together and apart, and write what was asked for.

    Raises
    ------
    ArtcheckError
        Every input and output is looked at before the long work begins.
    """
    from artcheck import pipeline
    from artcheck.pipeline.gang_art import GangArt
    from artcheck.pipeline.ganging import gang_order
    from artcheck.report.data import to_json
    from artcheck.report.files import write_atomic
    from artcheck.report.gang_files import gang_files
    from artcheck.shop import load_order, load_shop

    outputs = Outputs.opened(json_to, out, overwrite=overwrite)
    shop, order = load_shop(shop_file), load_order(order_file)
    with progress_on_stderr() as progress:
        measured = pipeline.measure_order(order, progress=progress)
        progress("laying out")
        checked = pipeline.evaluate_order(measured, order, shop)
        report, gangs = gang_order(measured, order, checked, shop)
        text = to_json(report)
        if outputs.folder is not None:
            with outputs.folder as folder:
                progress("drawing the sheets")
                write_atomic(folder / "gang.json", text.encode())
                art = GangArt(measured, order, checked, shop)
                pages = chain.from_iterable(map(art.pages, gangs))
                for name, data in gang_files(pages, art.cutouts, checked.prints[0].garment.hex):
                    write_atomic(folder / name, data)
    outputs.tell(lambda: text, lambda console: _show(report, out, console))


def _show(report: GangReport, out: Path | None, console: Console) -> None:
    from artcheck.report.gang_text import render_gang_text

    render_gang_text(report, console)
    if out is not None:
        console.print(f"\nSheets and pictures: {out}", markup=False)
