"""The only place where stages meet: `measure_file`, `evaluate`, `check`, `check_order`, `separate`.

The first half (pixels) depends on the file alone; the second half (records) is run again at every
change of size, quantity, garment or price and never touches a pixel.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import BackgroundChoice, Cutout
from artcheck.domain.check import OrderReport, QuoteReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order, Print
from artcheck.domain.shop import Shop
from artcheck.pipeline.art import cutout_and_fades, cutout_of, opened
from artcheck.pipeline.methods import case_of, totals_of
from artcheck.pipeline.one_size import in_one_size, one_size_note
from artcheck.pipeline.setting import setting_of
from artcheck.pipeline.weighing import weighed
from artcheck.pipeline.whole import methods_together, print_name, shared_words
from artcheck.units import minor_digits
from artcheck.version import __version__

if TYPE_CHECKING:
    from artcheck.pipeline.quoting import quote_order
    from artcheck.pipeline.separating import separate

__all__ = [
    "check",
    "check_order",
    "cost_curves",
    "cut_out",
    "cut_out_with_fades",
    "evaluate",
    "evaluate_order",
    "examine",
    "measure_file",
    "measure_order",
    "quote_order",
    "separate",
]


_LATER = {
    "quote_order": "artcheck.pipeline.quoting",
    "separate": "artcheck.pipeline.separating",
}
"""Stages that a check needs not: imported when first used."""


def __getattr__(name: str) -> Any:
    home = _LATER.get(name)
    if home is None:
        raise AttributeError(f"module 'artcheck.pipeline' has no attribute '{name}'")
    return getattr(importlib.import_module(home), name)


def measure_file(
    path: Path, *, background: BackgroundChoice = "auto", page: int = 1
) -> Measurements:
    """Read and measure one art file. Slow; depends on the file alone.

    Raises
    ------
    ArtFileError
        The file gives no picture.
    """
    from artcheck.measure import measure
    from artcheck.reading import read

    return measure(read(path, background=background, page=page - 1))


def cut_out(print_: Print) -> Cutout:
    """The art of one print freed from its background, for showing it on a garment.

    Reads the file again: measurements keep no pixels.

    Raises
    ------
    ArtFileError
        The file gives no picture.
    """
    return cutout_of(opened(print_))


def cut_out_with_fades(
    print_: Print, measured: Measurements, data: bytes | None = None
) -> tuple[Cutout, NDArray[np.bool_]]:
    """`cut_out`, and where the art fades: (h, w) bool over its box, at any size. For the papers.

    Reads ``data`` in the file's place where that is given.
    """
    return cutout_and_fades(opened(print_, data), measured.tone)


def examine(
    data: bytes,
    name: str,
    *,
    background: BackgroundChoice = "auto",
    page: int = 1,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[Measurements, Cutout]:
    """`measure_file` and `cut_out` of a file's bytes, read once. Slow.

    ``name`` is what the report calls the file; it is never used as a path.

    Raises
    ------
    ArtFileError
        The bytes give no picture.
    """
    from artcheck.measure import measure
    from artcheck.reading import read_data

    progress("reading")
    artwork = read_data(data, name, background=background, page=page - 1)
    progress("measuring")
    return measure(artwork), cutout_of(artwork)


def evaluate(measured: Measurements, order: Order, shop: Shop, *, index: int = 0) -> Report:
    """The report on one print of an order. Fast: records only.

    Raises
    ------
    ColourError
        A colour text or print condition of the order or shop cannot be used.
    """
    return weighed(measured, order, shop, index).report(order.prints[index].method)


def cost_curves(
    measured: Measurements, order: Order, shop: Shop, report: Report, *, index: int = 0
) -> dict[str, tuple[Decimal, ...]]:
    """Transfers with freight by method, for 1, 2, 3 ... pieces: what the flips were read from.

    ``report`` is the print's own (`evaluate`): it says which methods suit.
    """
    setting = setting_of(measured, order, shop, index)
    totals = totals_of(report.methods, case_of(setting, setting.inks), setting)
    unit = Decimal(1).scaleb(-minor_digits(shop.currency))
    return {name: tuple(total * unit for total in row) for name, row in totals.items()}


def check(
    path: Path, order: Order, shop: Shop, *, progress: Callable[[str], None] = lambda _: None
) -> Report:
    """Measure one file and evaluate the order's first print.

    Raises
    ------
    ArtFileError, ColourError
        As `measure_file` and `evaluate`.
    """
    print_ = order.prints[0]
    progress(f"measuring {path.name}")
    measured = measure_file(path, background=print_.background, page=print_.page)
    progress("pricing")
    return evaluate(measured, order, shop)


def measure_order(
    order: Order, *, progress: Callable[[str], None] = lambda _: None
) -> tuple[Measurements, ...]:
    """Measure the art of every print, each file once.

    Raises
    ------
    ArtFileError
        A file gives no picture.
    """
    done: dict[tuple[str, BackgroundChoice, int], Measurements] = {}
    for print_ in order.prints:
        key = _art_key(print_)
        if key not in done:
            progress(f"measuring {Path(print_.art).name}")
            done[key] = measure_file(
                Path(print_.art), background=print_.background, page=print_.page
            )
    return tuple(done[_art_key(print_)] for print_ in order.prints)


def check_order(
    order: Order, shop: Shop, *, progress: Callable[[str], None] = lambda _: None
) -> OrderReport:
    """Measure and evaluate every print of an order, choose their methods together, and quote.

    Raises
    ------
    ArtFileError, ColourError
        As `measure_file` and `evaluate`.
    """
    return evaluate_order(measure_order(order, progress=progress), order, shop)


def _art_key(print_: Print) -> tuple[str, BackgroundChoice, int]:
    """What a measurement depends on."""
    return print_.art, print_.background, print_.page


def evaluate_order(measured: Sequence[Measurements], order: Order, shop: Shop) -> OrderReport:
    """The second half of `check_order`: one measurement per print, no pixels.

    Raises
    ------
    ColourError
        As `evaluate`.
    """
    prints = [weighed(art, order, shop, i) for i, art in enumerate(measured)]
    reports = [one.report(print_.method) for one, print_ in zip(prints, order.prints, strict=True)]
    together, quoted = methods_together(reports, measured, order, shop)
    if len(reports) > 1:
        shared = shared_words(quoted)
        reports = [
            one.report(method, shared.get(n, ""))
            for n, (one, method) in enumerate(zip(prints, together, strict=True))
        ]
    if quoted is not None:
        quoted = _with_one_size(quoted, measured, order, shop)
    return OrderReport(
        artcheck_version=__version__,
        order=order.name,
        names=tuple(_title(order, n) for n in range(len(order.prints))),
        prints=tuple(reports),
        quote=quoted,
    )


def _title(order: Order, index: int) -> str:
    """A print's file, and what tells it from others of its name."""
    _, where = print_name(order, index)
    file = Path(order.prints[index].art).name
    return f"{file} ({where})" if where else file


def _with_one_size(
    quoted: QuoteReport, measured: Sequence[Measurements], order: Order, shop: Shop
) -> QuoteReport:
    """The quote with a note where one print for all garment sizes would cost less."""
    joint = in_one_size(order, measured)
    if joint is None:
        return quoted
    other, art, words = joint
    note = one_size_note(words, quoted, evaluate_order(art, other, shop).quote)
    return quoted.model_copy(update={"notes": (*quoted.notes, note)}) if note else quoted
