"""Which inks a print may use: the shelf's and what would be mixed; and the best sets of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from artcheck.colour.spaces import lab_to_hex, parse_colour
from artcheck.domain.base import Lab
from artcheck.domain.check import BrandColourReport, InkReport
from artcheck.domain.measurements import InkMeasured
from artcheck.domain.order import BrandColour
from artcheck.domain.separation import InkPlan, SpotInk, inks_words
from artcheck.domain.shop import Method, Shop, StockInk
from artcheck.errors import UsageError
from artcheck.matching import named_colours, nearest_stock
from artcheck.pipeline.setting import Setting
from artcheck.pipeline.work import Work
from artcheck.separation.colours import art_colours
from artcheck.separation.palette import ink_plans, knee

Inks = tuple[SpotInk, ...]


def plan_of(work: Work) -> InkPlan:
    """The inks to print.

    Raises
    ------
    UsageError
        So many inks cannot be had: too many for the method or the art, or none on the shelf.
    """
    wanted = work.options.inks
    most = work.method.most_inks
    if most is not None and wanted is not None and wanted > most:
        raise UsageError(f"{work.method.name} prints {inks_words(most)} at most, not {wanted}.")
    allowed = wanted or most or max(len(work.measured.inks.inks), 1)
    locked = locked_inks(work)
    critical = tuple(ink for ink in critical_inks(work.setting) if ink not in locked)
    if len(locked) + len(critical) <= allowed:
        locked = (*locked, *critical)
    choice = candidates(work.setting, work.report.inks.list, work.method)
    plans = plans_of(work.setting, choice, allowed, locked)
    if not plans:
        raise UsageError(
            f"{work.method.name} prints inks of the shelf, and this shop's is empty: add inks to"
            " the shop file."
        )
    if wanted is None:
        fewest = knee(plans).inks
        return next(plan for plan in plans if len(plan.inks) == fewest)
    if len(plans[-1].inks) < wanted:
        raise UsageError(_too_many(work, wanted, len(plans[-1].inks)))
    return next(plan for plan in plans if len(plan.inks) == wanted)


def _too_many(work: Work, wanted: int, useful: int) -> str:
    return (
        f"{work.measured.file} needs {inks_words(useful)} at most: {wanted} would print nothing"
        f" more. Ask for {useful} or fewer."
    )


def plans_of(setting: Setting, choice: Inks, most: int, locked: Inks = ()) -> tuple[InkPlan, ...]:
    """The best sets of 1, 2, 3 ... inks for the print's art, on its garment.

    What is found depends on the art, the inks and the garment's colour, not on quantity, size or
    price: it is kept, so that a change of those costs no search.

    Raises
    ------
    UsageError
        ``most`` is less than the number of locked inks.
    """
    garment = setting.garment
    return _searched(
        setting.sized.measured.inks.inks,
        choice,
        most,
        locked,
        garment.lab if garment else None,
        setting.shop.limits.garment_match.change,
    )


@lru_cache(maxsize=256)
def _searched(
    inks: tuple[InkMeasured, ...],
    choice: Inks,
    most: int,
    locked: Inks,
    garment_lab: Lab | None,
    knock_out_within: float,
) -> tuple[InkPlan, ...]:
    return ink_plans(
        art_colours(inks), choice, most, locked, garment_lab, knock_out_within=knock_out_within
    )


# --- what there is to choose from ---------------------------------------------------------------


def critical_inks(setting: Setting) -> Inks:
    """The inks of critical brand colours that the art holds: they are in whatever else is chosen.

    None where the order names the inks itself.
    """
    if setting.print_.inks:
        return ()
    return tuple(
        _brand_ink(brand) for brand in setting.brands if brand.critical and brand.found_in_art
    )


def _brand_ink(brand: BrandColourReport) -> SpotInk:
    stock = brand.nearest_ink
    if brand.plan == "stock" and stock is not None:
        lab = stock.lab or brand.target_lab
        return SpotInk(name=stock.name, hex=lab_to_hex(lab), lab=lab, stock=True)
    lab = brand.target_lab
    return SpotInk(name=brand.name, hex=lab_to_hex(lab), lab=lab, stock=False)


def locked_inks(work: Work) -> Inks:
    """The inks that are asked for by name and colour."""
    return tuple(_locked(brand, work.setting.shop) for brand in work.options.locked)


def shelf_inks(setting: Setting) -> Inks:
    """The inks that the shop has."""
    return _shelf(setting.shop.inks)


def _locked(brand: BrandColour, shop: Shop) -> SpotInk:
    """An ink that must be in: the shelf's where it matches, else mixed to order."""
    lab = parse_colour(brand.colour, named_colours(shop))
    stock = nearest_stock(lab, shop.inks)
    if stock is not None and stock.delta_e_2000 <= shop.limits.colour_match.change:
        lab = stock.lab or lab
        return SpotInk(name=stock.name, hex=lab_to_hex(lab), lab=lab, stock=True)
    return SpotInk(name=brand.name, hex=lab_to_hex(lab), lab=lab, stock=False)


def candidates(setting: Setting, inks: Sequence[InkReport], method: Method) -> Inks:
    """The shelf, and what the report would have mixed; only the order's inks where it names any."""
    asked = bool(setting.print_.inks)
    shelf = shelf_inks(setting)
    own = [
        SpotInk(name=ink.name, hex=lab_to_hex(lab), lab=lab, stock=False)
        for ink in inks
        if ink.plan == "mixed" and (method.mixes_inks or asked)
        for lab in (target_of(ink, setting.brands),)
    ]
    if asked:
        names = {ink.name for ink in inks}
        return (*(ink for ink in shelf if ink.name in names), *own)
    return (*shelf, *own)


@lru_cache(maxsize=8)
def _shelf(inks: tuple[StockInk, ...]) -> Inks:
    return tuple(
        SpotInk(name=ink.name, hex=lab_to_hex(ink.lab), lab=ink.lab, stock=True) for ink in inks
    )


def target_of(ink: InkReport, brands: Sequence[BrandColourReport]) -> Lab:
    """A mixed ink is mixed to the brand's colour, not to the file's nearest."""
    brand = next((b for b in brands if b.name == ink.name), None)
    return brand.target_lab if brand else ink.lab
