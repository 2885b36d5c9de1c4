"""The customer's proof: what is printed, where, how large, in what; and a line to approve it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.check import InkReport, MethodReport, Report, StockMatch
from artcheck.domain.order import Print
from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Shop
from artcheck.report.papers.art import CutArt, in_inks, paper_picture, printed_lab
from artcheck.report.papers.blocks import (
    Art,
    Block,
    Bullets,
    Facts,
    Heading,
    Lines,
    NewPage,
    Paper,
    Ruler,
    Sign,
    Swatch,
    Swatches,
)
from artcheck.report.papers.quote import capital, order_paper, words_of
from artcheck.report.papers.sizes import (
    CLOTH_IN,
    in_units,
    length_words,
    shown_scale,
    size_words,
    span_words,
)
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX
from artcheck.report.words import chosen_method, listed, percent
from artcheck.units import MM_PER_INCH

RULER_IN = {"in": 2.0, "mm": 50 / MM_PER_INCH}
"""Length of the line that shows whether a page was printed at 100 %: round in its unit."""

APPROVAL_IN = 4.2
"""Height of what is to be checked and signed: it stays on one page."""

SCREEN = (
    "A screen glows and cloth does not: colours on a screen and on this paper show the print only"
    " roughly. Where a colour decides, ask us for a printed swatch."
)
RIGHT_TO_USE = "I own this art, or whoever owns it has allowed me to have it printed."
SPELLING = (
    "Read every word, name and number letter by letter: we print what this proof shows.",
    "Compare size and place with a garment of yours, ruler in hand.",
    "Check the garments, their colour, and how many there are of each size.",
)
ANSWERS = (
    "Approved as shown.",
    "Approved with the changes written here.",
    "Not approved: please send another proof.",
)


def proof_paper(
    quote: OrderQuote,
    reports: Sequence[Report],
    prints: Sequence[Print],
    shop: Shop,
    arts: Sequence[Art],
) -> Paper:
    """Each print on a page of its own, then what to check and where to sign."""
    blocks: list[Block] = []
    for number, (report, print_, art) in enumerate(zip(reports, prints, arts, strict=True), 1):
        if number > 1:
            blocks.append(NewPage())
        name = "Print" if len(reports) == 1 else f"Print {number} of {len(reports)}"
        blocks += _print(name, report, print_, shop, art)
    blocks += (NewPage(APPROVAL_IN), *_approval(quote))
    return order_paper("Proof", quote, shop.papers, tuple(blocks))


def proof_art(art: CutArt, report: Report, print_: Print, shop: Shop) -> Art:
    """The art at its true size where the page has room, else at a round scale that is stated."""
    printed, units = report.printed, shop.papers.units
    scale = shown_scale(printed.width_in, printed.height_in, shop.papers)
    size = size_words(printed.width_in, printed.height_in, units)
    how = "true size" if scale == 1 else f"{percent(scale)} of its size"
    coloured = "in its inks" if in_inks(report) else "in the colours of your file"
    cloth = report.garment.colour or "a grey that stands for the garment"
    width, height = printed.width_in * scale, printed.height_in * scale
    picture, notes = paper_picture(art, report, print_, shop, max(width, height))
    return Art(
        picture=picture,
        width_in=width,
        height_in=height,
        ground=report.garment.hex or UNKNOWN_GARMENT_HEX,
        margin_in=CLOTH_IN,
        said=" ".join(
            (f"Prints {size}; shown here at {how}, {coloured}, on {cloth}.", *notes),
        ),
    )


def _print(name: str, report: Report, print_: Print, shop: Shop, art: Art) -> Iterator[Block]:
    units = shop.papers.units
    method = chosen_method(report)
    yield Heading(name)
    yield art
    length = RULER_IN[units]
    yield Ruler(
        length,
        f"This line is {length_words(length, units)} long."
        " If yours is not, the page was not printed at 100 %.",
    )
    printed = report.printed
    yield Facts(
        (
            ("Art", report.artwork.file),
            ("Place", place_words(report, shop)),
            *((("On garments", f"{listed(print_.garments)} alone"),) if print_.garments else ()),
            *((("On sizes", f"{listed(print_.sizes)} alone"),) if print_.sizes else ()),
            ("Size", size_words(printed.width_in, printed.height_in, units)),
            ("Printed as", method.name if method else ""),
        )
    )
    if print_.each_different:
        yield Lines(("Every piece carries its own design: this is one of them.",), strong=True)
    yield from _inks(report, method)
    yield Heading("What will differ from your screen and file, and what to know")
    messages = (in_units(line, units) for line in report.messages)
    yield Bullets((*dict.fromkeys((*_differences(report, method, shop), *messages)), SCREEN))


def place_words(report: Report, shop: Shop) -> str:
    """The place and how far below the collar, as far as the order and the shop say it."""
    place = report.garment.placement
    if place is None:
        return ""
    known = next((p for p in shop.placements if p.name.lower() == place.strip().lower()), None)
    if known is None or known.below_collar_in is None:
        return place
    return f"{place}, top {span_words(*known.below_collar_in, shop.papers.units)} below the collar"


def _inks(report: Report, method: MethodReport | None) -> Iterator[Block]:
    if method is None or method.inks is None:
        yield Heading("Colours")
        yield Lines(("Printed in full colour, not in separate inks.",))
        return
    yield Heading("Inks")
    yield Swatches(
        report.garment.hex or UNKNOWN_GARMENT_HEX,
        tuple(
            Swatch(lab_to_hex(printed_lab(ink, report)), ink_name(ink), ink_words(ink))
            for ink in report.inks.list
            if not ink.is_garment
        ),
    )


def ink_name(ink: InkReport) -> str:
    """What the shop calls the ink: the shelf's name, or that of the colour it is mixed for."""
    return ink.stock.name if ink.plan == "stock" and ink.stock is not None else ink.name


def ink_words(ink: InkReport) -> str:
    """Where the ink comes from, and for which colour where that bears another name."""
    source = "mixed to order" if ink.plan == "mixed" else "from the shelf"
    return source if ink_name(ink) == ink.name else f"for {ink.name}, {source}"


def _differences(report: Report, method: MethodReport | None, shop: Shop) -> Iterator[str]:
    """What the print does to the file, beyond what the findings tell the customer."""
    spot = method is not None and method.inks is not None
    for ink in report.inks.list if spot else ():
        if ink.is_garment:
            yield f"{ink.name} areas are not printed: the garment shows there."
        elif ink.plan == "stock" and ink.stock is not None and _is_off(ink.stock, shop):
            colour = f"{ink.hex} in your file" if ink.name == ink.stock.name else ink.name
            yield f"{capital(colour)} is printed in {ink.stock.name}: close, not the same."
    if report.background.kind == "removed":
        yield "The paper behind your art is not printed: the garment shows there."
    close = [brand.name for brand in report.brand_colours if brand.verdict != "match"]
    if close and not spot:
        yield f"{capital(listed(close))} will differ from what you named."


def _is_off(stock: StockMatch, shop: Shop) -> bool:
    return stock.delta_e_2000 > shop.limits.colour_match.change


def _approval(quote: OrderQuote) -> Iterator[Block]:
    yield Heading("Please check")
    yield Bullets(SPELLING, tick=True)
    for one in quote.garments:
        garments = f"{one.garment.pieces or 0:,} × {words_of(one.garment)}"
        sizes = ", ".join(f"{run.quantity:,} {run.size}" for run in one.sizes)
        yield Facts((("Garments", garments), ("Sizes", sizes)))
    yield Heading("Your approval")
    yield Bullets((RIGHT_TO_USE,), tick=True)
    yield Bullets(ANSWERS, tick=True)
    yield Facts((("Changes", ""), ("", "")))
    yield Sign(("Name", "Signature", "Date"))
