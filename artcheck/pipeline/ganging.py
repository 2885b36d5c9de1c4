"""An order's prints ganged by every method that buys sheets or a roll."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from artcheck.domain.check import MethodReport, OrderReport
from artcheck.domain.gang import (
    GangCopies,
    GangDesign,
    GangLayout,
    GangMethod,
    GangPlace,
    GangReport,
    LeftOut,
)
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.domain.shop import Method, Shop, SmallPrint
from artcheck.errors import PriceError, UsageError
from artcheck.pipeline.methods import case_of, job_of
from artcheck.pipeline.plates import design_key, plates_of
from artcheck.pipeline.setting import setting_of
from artcheck.pricing.gangs import BoughtGang, Design, Laid, roll_ganged, sheets_ganged
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import Purchase, purchase
from artcheck.pricing.quote import money_of, prints_of
from artcheck.version import __version__

MOST_FURTHER_COPIES = 200
"""Further copies of an ordered design that one sheet's free space takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """One print of the order as one method buys it: alone, and as a design of a gang.

    ``same`` is equal for prints of one art.
    """

    design: Design
    art: str
    same: str
    job: Job
    alone: Purchase
    mixed: frozenset[str]
    changes: int


@dataclass(frozen=True, slots=True)
class Gang:
    """One method's layouts, for drawing them, beside what is reported of them."""

    report: GangMethod
    laid: tuple[Laid, ...]


def gang_order(
    measured: Sequence[Measurements], order: Order, checked: OrderReport, shop: Shop
) -> tuple[GangReport, tuple[Gang, ...]]:
    """Gang the order's prints by each method; records only, no pixels.

    ``checked`` is what `evaluate_order` says of the order: prints that do not suit a method are
    left out of its gangs with the reason given there.

    Raises
    ------
    UsageError
        The order names no quantity, or no method buys sheets or a roll.
    """
    if order.pieces is None:
        raise UsageError("The order names no quantity. Put quantity or sizes under [garment].")
    ganging = [m for m in shop.methods if isinstance(m.price, PerSheet | PerRoll)]
    if not ganging:
        raise UsageError("No method of this shop is bought by the sheet or the roll.")
    gangs = tuple(_gang(method, measured, order, checked, shop) for method in ganging)
    methods = tuple(gang.report for gang in gangs)
    chosen = tuple(report.recommendation.method for report in checked.prints)
    decoration = checked.quote.decoration if checked.quote is not None else None
    whole = [m for m in methods if m.cost is not None and not m.left_out]
    best = min(whole, key=_least, default=None)
    return GangReport(
        artcheck_version=__version__,
        order=order.name,
        shop=shop.name,
        demo_prices=shop.demo,
        currency=shop.currency,
        pieces=order.pieces,
        order_methods=chosen,
        order_decoration=decoration,
        cheapest=best.id if best else None,
        answer=_answer(best, decoration, shop.currency),
        methods=methods,
    ), gangs


def _least(method: GangMethod) -> Decimal:
    assert method.cost is not None
    assert method.cost_alone is not None
    return min(method.cost, method.cost_alone)


def _answer(best: GangMethod | None, decoration: Decimal | None, currency: str) -> str:
    if best is None:
        return "No method takes all prints of this order together."
    together = f"ganged {best.cost} {currency}, apart {best.cost_alone}"
    gain = f", saves {best.saving}" if best.ganged else ": ganging saves nothing"
    words = f"{best.name}: {together}{gain}."
    if decoration is None or decoration == _least(best):
        return words
    more = decoration - _least(best)
    how = f"{abs(more)} {'more' if more > 0 else 'less'}"
    return f"{words} By the methods that check chooses: {decoration}, {how}."


# --- one method ---------------------------------------------------------------------------------


def _gang(
    method: Method,
    measured: Sequence[Measurements],
    order: Order,
    checked: OrderReport,
    shop: Shop,
) -> Gang:
    wanted: list[_Wanted] = []
    left_out: list[LeftOut] = []
    names = design_names([print_.art for print_ in order.prints])
    for index, (name, art) in enumerate(zip(names, measured, strict=True)):
        report = next(m for m in checked.prints[index].methods if m.id == method.id)
        try:
            wanted.append(_wanted(name, method, report, art, order, shop, index))
        except PriceError as reason:
            left_out.append(LeftOut(design=name, why=str(reason)))
    wanted = _joined(wanted, method, shop)
    laid: BoughtGang | None = None
    if wanted:
        try:
            laid = _laid(method, wanted, shop)
        except UsageError as reason:  # too many pieces, too many designs
            left_out += [LeftOut(design=one.design.name, why=str(reason)) for one in wanted]
    return Gang(_report(method, wanted if laid else [], left_out, laid), laid.laid if laid else ())


def _joined(wanted: Sequence[_Wanted], method: Method, shop: Shop) -> list[_Wanted]:
    """Copies of one design, for several garments, as one."""
    alike: dict[object, list[_Wanted]] = {}
    for one in wanted:
        design = replace(one.design, name="", quantity=0)
        key = one.same, design, one.mixed, one.job.underbase, one.job.each_different
        alike.setdefault(key, []).append(one)
    money = money_of(shop.prices, shop.currency)
    joined = []
    for first, *others in alike.values():
        if others:
            prints = first.job.prints + sum(other.job.prints for other in others)
            job = replace(first.job, prints=prints)
            first = replace(
                first,
                design=replace(first.design, quantity=prints),
                job=job,
                alone=purchase(method.price, job, money),
                changes=max(first.changes, *(other.changes for other in others)),
            )
        joined.append(first)
    return joined


def design_names(arts: Sequence[str]) -> list[str]:
    """A name for each print: its file's, numbered where a file is printed twice."""
    stems = [Path(art).stem for art in arts]
    seen: Counter[str] = Counter()
    names = []
    for stem in stems:
        seen[stem] += 1
        names.append(stem if stems.count(stem) == 1 else f"{stem} {seen[stem]}")
    return names


def _wanted(
    name: str,
    method: Method,
    report: MethodReport,
    art: Measurements,
    order: Order,
    shop: Shop,
    index: int,
) -> _Wanted:
    """The print as this method buys it; PriceError says why it does not."""
    if report.verdict == "unsuitable":
        raise PriceError(next(f.text for f in report.findings if f.severity == "stop"))
    setting = setting_of(art, order, shop, index)
    case = case_of(setting, setting.inks)
    different = setting.print_.each_different
    assert setting.order.pieces is not None
    prints = prints_of(setting.order.pieces, shop.prices.spares, each_different=different)
    job = job_of(method, case, setting, prints)
    if job is None:
        raise PriceError("The art has no ink count, so there are no plates to gang.")
    spot = isinstance(method.price, PerSheet)
    if spot and different:
        raise PriceError("Each copy is another design: a sheet that is printed many times is none.")
    inks, mixed = plates_of(case.inks) if spot else (frozenset[str](), frozenset[str]())
    width, height = job.size_in
    turns = method.price.rotate if isinstance(method.price, PerSheet | PerRoll) else True
    return _Wanted(
        design=Design(
            name=name,
            width_in=width,
            height_in=height,
            quantity=prints,
            inks=inks,
            rotate=turns,
        ),
        art=setting.print_.art,
        same=design_key(setting.print_),
        job=job,
        alone=purchase(method.price, job, money_of(shop.prices, shop.currency)),
        mixed=mixed,
        changes=sum(f.severity != "note" for f in report.findings),
    )


def _laid(method: Method, wanted: Sequence[_Wanted], shop: Shop) -> BoughtGang:
    designs = [one.design for one in wanted]
    again = [
        replace(one.design, quantity=MOST_FURTHER_COPIES)
        for one in wanted
        if not one.job.each_different
    ]
    most = max(one.design.quantity for one in wanted)
    fillers = [*(_filler(small, method, most) for small in shop.small_prints), *again]
    money = money_of(shop.prices, shop.currency)
    if isinstance(method.price, PerRoll):
        return roll_ganged(method.price, designs, fillers, money)
    assert isinstance(method.price, PerSheet)
    return sheets_ganged(
        method.price,
        designs,
        fillers,
        money,
        mixed=frozenset().union(*(one.mixed for one in wanted)),
        underbase=any(one.job.underbase for one in wanted),
    )


def _filler(small: SmallPrint, method: Method, pieces: int) -> Design:
    """A spot sheet must hold the small print's inks already; a roll takes one for each piece."""
    by_sheet = isinstance(method.price, PerSheet)
    return Design(
        name=small.name,
        width_in=small.width_in,
        height_in=small.height_in,
        quantity=small.most_per_sheet if by_sheet else min(small.most_per_sheet, pieces),
        inks=frozenset(small.inks) if by_sheet else frozenset(),
    )


# --- its report ---------------------------------------------------------------------------------


def _report(
    method: Method,
    wanted: Sequence[_Wanted],
    left_out: Sequence[LeftOut],
    laid: BoughtGang | None,
) -> GangMethod:
    alone = sum((one.alone.total for one in wanted), Decimal(0)) if laid else None
    saving = alone - laid.total if laid and alone is not None else None
    return GangMethod(
        id=method.id,
        name=method.name,
        unit="sheets" if isinstance(method.price, PerSheet) else "feet",
        designs=tuple(_design(one) for one in wanted),
        left_out=tuple(left_out),
        ganged=saving is not None and saving > 0,
        layouts=tuple(_layout(one) for one in laid.laid) if laid else (),
        needed=laid.needed if laid else 0,
        bought=laid.bought if laid else 0,
        lower_bound=laid.lower_bound if laid else 0,
        proven=bool(laid and laid.proven),
        cost=laid.total if laid else None,
        cost_alone=alone,
        saving=saving,
        lines=laid.lines if laid else (),
        lines_alone=tuple(
            line.model_copy(update={"what": f"{one.design.name}: {line.what}"})
            for one in wanted
            for line in one.alone.lines
        ),
        notes=tuple(_notes(wanted, laid)) if laid else (),
    )


def _notes(wanted: Sequence[_Wanted], laid: BoughtGang) -> list[str]:
    notes = []
    for one in wanted:
        made = sum(_copies(part, one.design.name, free=False) * part.times for part in laid.laid)
        if made > one.design.quantity:
            spare = made - one.design.quantity
            copies = "copy" if spare == 1 else "copies"
            notes.append(f"{spare} spare {copies} of {one.design.name}")
        if one.changes:
            count = "a finding is" if one.changes == 1 else f"{one.changes} findings are"
            notes.append(
                f"{one.design.name}: {count} open, settle before printing (artcheck check tells)"
            )
        if one.job.each_different:
            notes.append(
                f"{one.design.name}: each copy is another design, and the layout shows the one"
                " file that the order names in every place"
            )
    return notes


def _design(one: _Wanted) -> GangDesign:
    return GangDesign(
        name=one.design.name,
        art=Path(one.art).name,
        width_in=float(one.design.width_in),
        height_in=float(one.design.height_in),
        quantity=one.design.quantity,
        inks=tuple(sorted(one.design.inks)),
    )


def _copies(part: Laid, name: str, *, free: bool) -> int:
    placed = part.sheet.placements[part.paid :] if free else part.sheet.placements[: part.paid]
    return sum(place.design.name == name for place in placed)


def _layout(part: Laid) -> GangLayout:
    sheet, times = part.sheet, part.times
    names = list(dict.fromkeys(place.design.name for place in sheet.placements))
    counts = [(n, free, _copies(part, n, free=free)) for free in (False, True) for n in names]
    return GangLayout(
        sheet_in=sheet.sheet_in,
        gutter_in=sheet.gutter_in,
        margin_in=sheet.margin_in,
        inks=tuple(sorted(sheet.inks)),
        sheets_needed=min(part.bought.needed or 1, times),
        sheets_bought=times,
        covered=min(sheet.covered, 1.0),
        copies=tuple(
            GangCopies(design=name, per_sheet=count, made=count * times, free=free)
            for name, free, count in counts
            if count
        ),
        layout=tuple(
            GangPlace(
                design=place.design.name,
                row_in=place.row_in,
                col_in=place.col_in,
                width_in=place.box.width_in,
                height_in=place.box.height_in,
                rotated=place.rotated,
                free=number >= part.paid,
            )
            for number, place in enumerate(sheet.placements)
        ),
    )
