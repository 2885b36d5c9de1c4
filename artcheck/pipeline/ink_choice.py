"""Which inks a separation prints: chosen from the shelf and from what the report would mix."""

from __future__ import annotations

from artcheck.colour.spaces import lab_to_hex, parse_colour
from artcheck.domain.base import Lab
from artcheck.domain.check import InkReport, Report
from artcheck.domain.order import BrandColour
from artcheck.domain.separation import InkPlan, SpotInk, inks_words
from artcheck.domain.shop import Shop
from artcheck.errors import UsageError
from artcheck.matching import named_colours, nearest_stock
from artcheck.pipeline.work import Work


def plan_of(work: Work) -> InkPlan:
    """The inks to print."""
    from artcheck.separation.colours import art_colours
    from artcheck.separation.palette import ink_plans, knee

    shop, wanted = work.setting.shop, work.options.inks
    most = work.method.most_inks
    if most is not None and wanted is not None and wanted > most:
        raise UsageError(f"{work.method.name} prints {inks_words(most)} at most, not {wanted}.")
    locked = [_locked(brand, shop) for brand in work.options.locked]
    garment = work.setting.garment
    plans = ink_plans(
        art_colours(work.measured),
        _candidates(work),
        wanted or most or max(len(work.measured.inks.inks), 1),
        locked,
        garment.lab if garment else None,
        knock_out_within=shop.limits.garment_match.change,
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


def _locked(brand: BrandColour, shop: Shop) -> SpotInk:
    """An ink that must be in: the shelf's where it matches, else mixed to order."""
    lab = parse_colour(brand.colour, named_colours(shop))
    stock = nearest_stock(lab, shop.inks)
    if stock is not None and stock.delta_e_2000 <= shop.limits.colour_match.change:
        lab = stock.lab or lab
        return SpotInk(name=stock.name, hex=lab_to_hex(lab), lab=lab, stock=True)
    return SpotInk(name=brand.name, hex=lab_to_hex(lab), lab=lab, stock=False)


def _candidates(work: Work) -> list[SpotInk]:
    """The shelf, and what the report would have mixed; only the order's inks where it names any."""
    shelf = [
        SpotInk(name=ink.name, hex=lab_to_hex(ink.lab), lab=ink.lab, stock=True)
        for ink in work.setting.shop.inks
    ]
    asked = bool(work.setting.print_.inks)
    own = [
        SpotInk(name=ink.name, hex=lab_to_hex(lab), lab=lab, stock=False)
        for ink in work.report.inks.list
        if ink.plan == "mixed" and (work.method.mixes_inks or asked)
        for lab in (_target(ink, work.report),)
    ]
    if asked:
        names = {ink.name for ink in work.report.inks.list}
        return [*(ink for ink in shelf if ink.name in names), *own]
    return [*shelf, *own]


def _target(ink: InkReport, report: Report) -> Lab:
    """A mixed ink is mixed to the brand's colour, not to the file's nearest."""
    brand = next((b for b in report.brand_colours if b.name == ink.name), None)
    return brand.target_lab if brand else ink.lab
