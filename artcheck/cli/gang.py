"""The gang command: an order's prints together on sheets or a roll."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from artcheck.cli.output import Outputs, progress_on_stderr
from artcheck.domain.check import OrderReport, Report
from artcheck.domain.gang import GangReport
from artcheck.domain.order import Order, Print
from artcheck.domain.prices import PerSheet
from artcheck.domain.shop import Method, Shop

if TYPE_CHECKING:
    from rich.console import Console

    from artcheck.domain.artwork import Cutout
    from artcheck.pipeline.ganging import Gang
    from artcheck.pricing.gangs import GangSheet
    from artcheck.report.gang_sheet import DesignArt


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
    from artcheck.pipeline.ganging import gang_order
    from artcheck.report.data import to_json
    from artcheck.report.files import write_atomic
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
                for name, data in _files(gangs, order, checked, shop):
                    write_atomic(folder / name, data)
    outputs.tell(lambda: text, lambda console: _show(report, out, console))


def _show(report: GangReport, out: Path | None, console: Console) -> None:
    from artcheck.report.gang_text import render_gang_text

    render_gang_text(report, console)
    if out is not None:
        console.print(f"\nSheets and pictures: {out}", markup=False)


# --- files --------------------------------------------------------------------------------------


def _files(
    gangs: Sequence[Gang], order: Order, checked: OrderReport, shop: Shop
) -> Iterator[tuple[str, bytes]]:
    """A picture and a print-ready sheet of every layout; the art of each design is read once."""
    from artcheck.report.gang_picture import gang_picture
    from artcheck.report.gang_sheet import sheet_pdf
    from artcheck.report.pictures import picture_on

    cutouts = dict(_cutouts(order, shop))
    garment = checked.prints[0].garment.hex
    pictures = {
        name: picture_on(cutout, garment, longest_px=PICTURE_PX) for name, cutout in cutouts.items()
    }
    for gang in gangs:
        method = shop.method(gang.report.id)
        arts = dict(_arts(gang, method, cutouts, order, checked))
        for number, (laid, layout) in enumerate(
            zip(gang.laid, gang.report.layouts, strict=True), 1
        ):
            name = f"{method.id}-{number}"
            small = dict(_small_arts(laid.sheet, arts, cutouts, method, shop))
            yield f"{name}.svg", gang_picture(layout, pictures).encode()
            yield f"{name}.pdf", sheet_pdf(laid.sheet, arts | small)


PICTURE_PX = 500
"""Long side of a design in the picture: it is looked at, not printed."""


def _cutouts(order: Order, shop: Shop) -> Iterator[tuple[str, Cutout]]:
    """The art of every print and of every small print that has some, by design."""
    from artcheck.pipeline import cut_out
    from artcheck.pipeline.ganging import design_names

    for name, print_ in zip(design_names([p.art for p in order.prints]), order.prints, strict=True):
        yield name, cut_out(print_)
    for small in shop.small_prints:
        if small.art is not None:
            yield small.name, cut_out(Print(art=small.art))


def _arts(
    gang: Gang, method: Method, cutouts: dict[str, Cutout], order: Order, checked: OrderReport
) -> Iterator[tuple[str, DesignArt]]:
    """Each design as this method prints it."""
    from artcheck.pipeline.ganging import design_names
    from artcheck.report.gang_sheet import FilmArt

    reports = dict(zip(design_names([p.art for p in order.prints]), checked.prints, strict=True))
    used = {
        place.design.name: place.design for laid in gang.laid for place in laid.sheet.placements
    }
    for name, cutout in cutouts.items():
        if name not in used:
            continue
        if not isinstance(method.price, PerSheet):
            yield name, FilmArt(cutout=cutout, most_ppi=method.output_ppi)
        elif name in reports:
            size_in = (float(used[name].width_in), float(used[name].height_in))
            yield name, _plates(cutout, reports[name], size_in, method.output_ppi)


def _small_arts(
    sheet: GangSheet,
    arts: Mapping[str, DesignArt],
    cutouts: Mapping[str, Cutout],
    method: Method,
    shop: Shop,
) -> Iterator[tuple[str, DesignArt]]:
    """The shop's small prints on one sheet, in the named inks, else in one that the sheet has."""
    from artcheck.colour.spaces import lab_to_hex
    from artcheck.report.gang_sheet import FilmArt, Plate
    from artcheck.separation.flat_plates import flat_plates

    plates = [plate for art in arts.values() if not isinstance(art, FilmArt) for plate in art]
    labs = {plate.ink: plate.lab for plate in plates if plate.ink in sheet.inks}
    placed = {place.design.name for place in sheet.placements}
    for small in shop.small_prints:
        if small.name not in placed or small.name not in cutouts or not labs:
            continue
        names = small.inks or (min(labs),)
        size_in = (small.width_in, small.height_in)
        size_px = _pixels(size_in, method.output_ppi)
        masks = flat_plates(cutouts[small.name], [lab_to_hex(labs[n]) for n in names], size_px)
        yield (
            small.name,
            [
                Plate(ink=name, lab=labs[name], mask=mask)
                for name, mask in zip(names, masks, strict=True)
            ],
        )


def _plates(cutout: Cutout, report: Report, size_in: tuple[float, float], ppi: float) -> DesignArt:
    """The design's inks as plates: each pixel to its nearest ink, those of the garment left out."""
    from artcheck.pipeline.plates import printed_inks
    from artcheck.report.gang_sheet import Plate
    from artcheck.separation.flat_plates import flat_plates

    inks = report.inks.list
    size_px = _pixels(size_in, ppi)
    masks = flat_plates(cutout, [ink.hex for ink in inks], size_px)
    names = {id(ink): name for name, ink in printed_inks(inks)}
    return [
        Plate(
            ink=names[id(ink)],
            lab=ink.stock.lab if ink.plan == "stock" and ink.stock and ink.stock.lab else ink.lab,
            mask=mask,
        )
        for ink, mask in zip(inks, masks, strict=True)
        if id(ink) in names
    ]


def _pixels(size_in: tuple[float, float], ppi: float) -> tuple[int, int]:
    return max(1, round(size_in[0] * ppi)), max(1, round(size_in[1] * ppi))
