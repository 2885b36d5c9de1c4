"""The printer's sheet: what to order from whoever makes the transfers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import NamedTuple

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.check import (
    BoughtTogether,
    CostLine,
    CostReport,
    InkReport,
    MethodReport,
    Report,
    SharedLayout,
)
from artcheck.domain.order import Print
from artcheck.domain.prices import PerArea, PerSheet
from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Method, Shop
from artcheck.pricing.job import Job
from artcheck.pricing.sheets import copies_on_sheet
from artcheck.report.papers.art import printed_lab
from artcheck.report.papers.blocks import (
    Art,
    Block,
    Facts,
    Heading,
    NewPage,
    Paper,
    Sheet,
    Swatch,
    Swatches,
)
from artcheck.report.papers.press import small
from artcheck.report.papers.proof import ink_name, ink_words
from artcheck.report.papers.quote import capital, order_paper
from artcheck.report.papers.sizes import in_units, length_words, size_words
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX
from artcheck.report.words import chosen_method, listed


class Printed(NamedTuple):
    """One print by its method; ``lot`` is what it is bought in with others."""

    report: Report
    print_: Print
    art: Art
    entry: MethodReport
    method: Method
    lot: Lot | None


class Lot(NamedTuple):
    """Prints that are ordered as one, of which the print is the ``first`` or a later one."""

    together: BoughtTogether
    first: bool


LAYOUT_IN = 2.2
"""Long side of a drawn sheet: with its design, two stand on a page."""

HEAD_IN, DESIGN_IN = 0.9, 2.4
"""Heights of what stands above a maker's designs, and of a design with its inks."""


def printer_paper(
    quote: OrderQuote,
    together: Sequence[BoughtTogether],
    reports: Sequence[Report],
    prints: Sequence[Print],
    shop: Shop,
    arts: Sequence[Art],
) -> Paper:
    """Each supplier's part of the order: designs, inks, what to order, how sheets are laid out.

    ``together`` says which prints are bought as one.
    """
    printed = [
        Printed(report, print_, art, method, shop.method(method.id), _lot(together, place))
        for place, (report, print_, art) in enumerate(zip(reports, prints, arts, strict=True))
        if (method := chosen_method(report)) is not None
    ]
    printed.sort(key=_maker)
    blocks: list[Block] = []
    for maker, theirs in groupby(printed, key=_maker):
        blocks += _order(maker, list(theirs), shop)
    return order_paper("Printer's sheet", quote, shop.papers, tuple(blocks))


def _maker(printed: Printed) -> str:
    return capital(printed.method.supplier or "made in the shop")


def _lot(together: Sequence[BoughtTogether], place: int) -> Lot | None:
    for one in together:
        if place in one.prints:
            return Lot(one, first=one.prints[0] == place)
    return None


def _order(maker: str, printed: Sequence[Printed], shop: Shop) -> Iterator[Block]:
    yield NewPage(HEAD_IN + _height_in(printed[0]))
    yield Heading(maker)
    if printed[0].method.supplier is not None:
        yield Facts((("Needed here by", ""), ("Send to", "")))
    for number, one in enumerate(printed):
        if number:
            yield NewPage(_height_in(one))
        yield from _design(one, shop)


def _height_in(printed: Printed) -> float:
    """About how high a design is with its layouts: neither is torn from the other."""
    return DESIGN_IN + LAYOUT_IN * len(_sheets_of(printed))


def _sheets_of(printed: Printed) -> list[SharedLayout | None]:
    """Layouts to draw with a design: None for sheets of its own.

    Where designs share sheets, or copies for several garments are one design, they stand at the
    first of them.
    """
    lot, cost = printed.lot, printed.entry.cost
    if not isinstance(printed.method.price, PerSheet) or (lot is not None and not lot.first):
        return []
    if lot is not None and lot.together.layouts:
        return list(lot.together.layouts)
    return [None] if cost is not None and cost.copies_per_sheet else []


def _design(one: Printed, shop: Shop) -> Iterator[Block]:
    report, print_, art, entry, method, lot = one
    cost, printed = entry.cost, report.printed
    pairs = [
        ("Art", report.artwork.file),
        *((("For", listed(print_.garments)),) if print_.garments else ()),
        ("Method", entry.name),
        ("Size", size_words(printed.width_in, printed.height_in, shop.papers.units)),
        ("Prints", f"{cost.prints:,}" if cost else ""),
    ]
    pairs += [("To order", words) for words in _ordered(cost, method, lot, shop.papers.units)]
    if print_.each_different:
        pairs.append(("Designs", "every piece is another: the list goes with the files"))
    pairs += [("Make", words) for words in _making(report, entry, method)]
    yield small(art, report, _named_once(pairs))
    if entry.inks is not None:
        yield Swatches(
            report.garment.hex or UNKNOWN_GARMENT_HEX,
            tuple(_swatch(ink, report) for ink in report.inks.list if not ink.is_garment),
        )
    for layout in _sheets_of(one):
        assert isinstance(method.price, PerSheet)
        if layout is None or lot is None:
            yield _layout(report, method.price, shop)
        else:
            yield _shared_layout(layout, lot.together, shop)


def _ordered(cost: CostReport | None, method: Method, lot: Lot | None, units: str) -> Iterator[str]:
    """What to order for one print; for prints that are bought as one it stands at the first."""
    if lot is None:
        if cost is not None and not isinstance(method.price, PerArea):
            yield from (to_order(line, units) for line in transfer_lines(cost))
        return
    together = lot.together
    if not lot.first:
        yield f"with {together.names[0]}"
        return
    yield f"together with {listed(together.names[1:])}:"
    for line in together.lines:
        held = line.how.partition(";")[0] if line.how.startswith("on ") else ""
        named = line.model_copy(update={"what": line.what.rpartition(": ")[2]})
        yield to_order(named, units) + (f" ({held})" if held else "")


def _named_once(pairs: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """A name that repeats is said once."""
    before = ["", *(name for name, _ in pairs)]
    return tuple(
        (name if name != last else "\N{NO-BREAK SPACE}", value)
        for (name, value), last in zip(pairs, before, strict=False)
    )


def to_order(line: CostLine, units: str) -> str:
    """20 × sheets 12 × 15 in, 2 inks."""
    return f"{line.quantity:,f} × {in_units(line.what, units)}"


def transfer_lines(cost: CostReport) -> tuple[CostLine, ...]:
    """The lines that the transfers' maker is paid for: the first ones, up to ``decoration``."""
    lines: list[CostLine] = []
    for line in cost.lines:
        if sum((done.amount for done in lines), Decimal(0)) == cost.decoration and lines:
            break
        lines.append(line)
    return tuple(lines)


def _swatch(ink: InkReport, report: Report) -> Swatch:
    lab = printed_lab(ink, report)
    values = " ".join(f"{value:.0f}".replace("-", "\N{MINUS SIGN}") for value in lab)
    return Swatch(lab_to_hex(lab), ink_name(ink), f"{ink_words(ink)}, CIELAB (D50) {values}")


def _making(report: Report, entry: MethodReport, method: Method) -> Iterator[str]:
    garment = report.garment.colour
    yield f"For {garment} garments." if garment else "For garments of a colour not told yet."
    yield f"Files at {method.output_ppi:g} ppi at the printed size."
    spot = entry.inks is not None
    if spot and report.tone.kind != "flat" and method.halftone_lpi is not None:
        angle = method.halftone_angle_deg
        at = "" if angle is None else f" at {angle:g}°"
        yield f"Fades as a halftone of {method.halftone_lpi:g} lpi{at}."
    if spot and method.trap_pt:
        yield f"Trap {method.trap_pt:g} pt."
    if not spot:
        yield f"White under the colours, drawn in by {method.choke_pt:g} pt."
    elif not method.opaque:
        yield f"White under the inks on dark garments, drawn in by {method.choke_pt:g} pt."


def _layout(report: Report, price: PerSheet, shop: Shop) -> Sheet:
    """The copies on one sheet, as `artcheck copies` lays them out."""
    printed, units = report.printed, shop.papers.units
    priced = Job(prints=1, width_in=printed.width_in, height_in=printed.height_in, inks=1)
    laid = copies_on_sheet(
        price.sheet_in,
        priced.size_in,
        price.gutter_in,
        price.margin_in,
        price.rotate,
    )
    width, height = price.sheet_in
    return Sheet(
        width_in=width,
        height_in=height,
        places=tuple((b.col_in, b.row_in, b.width_in, b.height_in) for b in laid.boxes),
        scale=LAYOUT_IN / max(width, height),
        said=(
            f"{laid.copies} on a sheet of {size_words(width, height, units)},"
            f" {length_words(price.gutter_in, units)} between them."
        ),
    )


def _shared_layout(layout: SharedLayout, together: BoughtTogether, shop: Shop) -> Sheet:
    """One sheet on which several designs lie, with what each is in words."""
    names = dict(zip(together.prints, together.names, strict=True))
    lying = Counter(names[place.print] for place in layout.places)
    width, height = layout.sheet_in
    held = ", ".join(f"{count} × {name}" for name, count in lying.items())
    return Sheet(
        width_in=width,
        height_in=height,
        places=tuple((p.col_in, p.row_in, p.width_in, p.height_in) for p in layout.places),
        scale=LAYOUT_IN / max(width, height),
        said=(
            f"{held} on a sheet of {size_words(width, height, shop.papers.units)},"
            f" printed {layout.times:,} times."
        ),
    )
