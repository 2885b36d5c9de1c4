"""The press sheet: what the operator at the heat press needs, in the order of the presses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from artcheck.domain.check import MethodReport, OrderReport, Report
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Shop
from artcheck.pricing.quote import pieces_with_spares
from artcheck.pricing.spares import spares_of
from artcheck.report.papers.blocks import (
    Art,
    Block,
    Bullets,
    Facts,
    Heading,
    Lines,
    NewPage,
    Paper,
    Sign,
    Table,
)
from artcheck.report.papers.proof import place_words
from artcheck.report.papers.quote import capital, order_paper, words_of
from artcheck.report.papers.sizes import in_units, size_words
from artcheck.report.words import chosen_method, listed
from artcheck.units import fahrenheit_to_celsius

SEEN_IN = 1.5
"""Long side of the picture that tells one print from another."""

SEEN_CLOTH_IN = 0.1
"""Cloth around it."""

CAUTION_IN, BESIDE_CAUTIONS_IN = 0.24, 1.3
"""Height of a caution, and of what stands around them with the line to sign: all on one page."""

HOTTEST_FIRST = (
    "Presses are in the order of their heat, the hottest first: a later press must not soften a"
    " print that is on already. Where two are equally hot, as they stand in the order."
)
"""Common practice."""


def press_paper(
    order: Order, report: OrderReport, quote: OrderQuote, shop: Shop, arts: Sequence[Art]
) -> Paper:
    """Garments and counts, each press with its settings, then the cautions."""
    presses = [
        (one, print_, art, method)
        for one, print_, art in zip(report.prints, order.prints, arts, strict=True)
        if (method := chosen_method(one)) is not None
    ]
    presses.sort(key=lambda press: -_heat(press[-1]))
    blocks: list[Block] = list(_counts(order, quote, shop))
    for number, (one, print_, art, method) in enumerate(presses, 1):
        name = "Press" if len(presses) == 1 else f"Press {number} of {len(presses)}"
        blocks += _press(name, one, print_, shop, art, method)
    if len({_heat(method) for *_, method in presses}) > 1:
        blocks.append(Lines((HOTTEST_FIRST,)))
    blocks += _cautions([method for *_, method in presses])
    blocks.append(Sign(("First piece checked by", "Settings used", "Date")))
    return order_paper("Press sheet", quote, shop.papers, tuple(blocks))


def _heat(method: MethodReport) -> float:
    return method.press.temperature_f if method.press else 0.0


def _counts(order: Order, quote: OrderQuote, shop: Shop) -> Iterator[Block]:
    """Garments to fetch: what was ordered, and the spares of each size."""
    yield Heading("Garments")
    for garment, quoted in zip(order.worn, quote.garments, strict=True):
        yield Lines((capital(words_of(quoted.garment)),))
        yield from _counts_of(garment, order, shop)


def _counts_of(garment: Garment, order: Order, shop: Shop) -> Iterator[Block]:
    spares, pieces = shop.prices.spares, garment.pieces or 0
    counts = [(run.size, run.quantity, run.spares) for run in spares_of(garment, order, spares)]
    if not counts:
        counts = [("sizes not told", pieces, pieces_with_spares(pieces, spares) - pieces)]
    rows = [_row(*count) for count in counts]
    ordered, spare = (sum(column) for column in list(zip(*counts, strict=True))[1:])
    totals = (_row("All sizes", ordered, spare),) if len(rows) > 1 else ()
    yield Table(
        ("Size", "Ordered", "Spares", "To press"),
        tuple(rows),
        figures=(1, 2, 3),
        totals=totals,
        narrow=True,
    )
    if not garment.sizes:
        yield Facts((("Sizes", ""),))


def _row(size: str, ordered: int, spares: int) -> tuple[str, ...]:
    return size, f"{ordered:,}", f"{spares:,}", f"{ordered + spares:,}"


def _press(
    name: str, report: Report, print_: Print, shop: Shop, art: Art, method: MethodReport
) -> Iterator[Block]:
    size = size_words(report.printed.width_in, report.printed.height_in, shop.papers.units)
    pairs = [("Print", f"{method.name}, {size}"), ("Place", place_words(report, shop))]
    if method.press is not None:
        pairs += [
            ("Temperature", _heat_words(method.press.temperature_f, shop.papers.units)),
            ("Time", f"{method.press.seconds:g} s"),
            ("Pressure", method.press.pressure),
            ("Peel", method.press.peel),
        ]
    else:
        pairs += [(words, "") for words in ("Temperature", "Time", "Pressure", "Peel")]
    if print_.garments:
        pairs.append(("On garments", f"{listed(print_.garments)} alone"))
    if print_.sizes:
        pairs.append(("On sizes", f"{listed(print_.sizes)} alone"))
    if print_.each_different:
        pairs.append(("Designs", "every piece carries its own: match them to the list"))
    yield Heading(name)
    yield small(art, report, tuple(pairs))
    stops = [in_units(f.text, shop.papers.units) for f in method.findings if f.severity == "stop"]
    if stops:
        yield Lines(("Do not press before this is settled:",), strong=True)
        yield Bullets(tuple(stops))


def _heat_words(temperature_f: float, units: str) -> str:
    """In both scales, the one of the shop's unit of length first."""
    fahrenheit, celsius = f"{temperature_f:g} °F", f"{fahrenheit_to_celsius(temperature_f):.0f} °C"
    return f"{celsius} ({fahrenheit})" if units == "mm" else f"{fahrenheit} ({celsius})"


def small(art: Art, report: Report, pairs: tuple[tuple[str, str], ...]) -> Art:
    """The art for telling one print from another, its facts beside it."""
    scale = min(1.0, SEEN_IN / max(art.width_in, art.height_in))
    return replace(
        art,
        width_in=art.width_in * scale,
        height_in=art.height_in * scale,
        margin_in=SEEN_CLOTH_IN,
        said=f"{report.artwork.file}, not at its size",
        pairs=pairs,
    )


def _cautions(methods: Sequence[MethodReport]) -> Iterator[Block]:
    """Each caution once; what defers to the makers' sheets closes every list, so it stays last."""
    lists = [method.press.cautions for method in methods if method.press is not None]
    if not lists:
        return
    first = dict.fromkeys(caution for cautions in lists for caution in cautions[:-1])
    last = dict.fromkeys(cautions[-1] for cautions in lists if cautions)
    yield NewPage(len(first) * CAUTION_IN + BESIDE_CAUTIONS_IN)
    yield Heading("Cautions")
    yield Bullets(tuple(first))
    yield Lines(tuple(last), strong=True)
