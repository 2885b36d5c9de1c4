"""Small changes of an order that make it cheaper, each with what it saves.

A print a little smaller that yields a copy more a sheet, stock inks in place of mixed ones, a
larger run that costs less to print, the size at which art that is too large fits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import islice

from artcheck.domain.check import CostReport, MethodReport, Nudge
from artcheck.domain.order import SMALLEST_PRINT_IN
from artcheck.domain.prices import PerPiece, PerRoll, PerSheet, PerSize, PerStitch
from artcheck.domain.shop import Method
from artcheck.judge import Case
from artcheck.pipeline.methods import case_of, cost_in, method_report
from artcheck.pipeline.setting import Setting
from artcheck.pricing.job import SIZE_STEP_IN
from artcheck.pricing.quote import prints_of
from artcheck.recommend import cheapest

SMALLEST_SHARE = Decimal("0.9")
"""A print that is smaller by more than a tenth is another print, not the same one a little smaller
(one designer's eye: no source)."""

LEAST_SAVING = Decimal("0.01")
"""Part of the order's cost below which a change is not worth the question."""

MOST_STEPS = 12
"""Falls of the cost that are looked at: a roll's feet fall often, each by little."""

MOST_COPIES = 24
"""Copies on a sheet beyond which one more saves less than that hundredth of most orders: the search
for its width is left out."""


def nudges(
    setting: Setting, case: Case, methods: Sequence[MethodReport], best: MethodReport | None
) -> tuple[Nudge, ...]:
    """What would make the answer cheaper, the largest saving first."""
    if best is None:
        return tuple(_fitting(setting, methods))
    if best.cost is None:
        return ()
    worth = best.cost.total * LEAST_SAVING
    found = [
        *_smaller(setting, case, methods, best.cost),
        *_stock_inks(setting, case, best),
        *_larger_run(setting, case, best),
    ]
    return tuple(sorted((n for n in found if n.saving >= worth), key=lambda n: -n.saving))


# --- a little smaller ---------------------------------------------------------------------------


def _smaller(
    setting: Setting, case: Case, methods: Sequence[MethodReport], now: CostReport
) -> Iterator[Nudge]:
    """The smaller print that saves most for how little it shrinks, by whichever method.

    A size at which something new stands in that method's way (lines too thin) is passed over.
    """
    found = [
        _smaller_nudge(setting, report, report.cost, cost, width_in, now)
        for report in methods
        if report.recommendable and report.verdict != "unsuitable" and report.cost is not None
        for width_in, cost in _steps_down(setting, case, report.id, report.cost)
        if cost.total < now.total
    ]
    found.sort(key=lambda nudge: nudge.saving * _nearness(setting, nudge), reverse=True)
    stops = {report.id: _stops(report) for report in methods}
    good = (n for n in found if _stops_at(setting, n) <= stops[n.method])
    yield from islice(good, 1)


def _stops_at(setting: Setting, nudge: Nudge) -> set[str]:
    assert nudge.width_in is not None
    smaller = _at_width(setting, nudge.width_in)
    case = case_of(smaller, smaller.inks)
    return _stops(method_report(setting.shop.method(nudge.method), case, smaller))


def _stops(report: MethodReport) -> set[str]:
    return {finding.id for finding in report.findings if finding.severity == "stop"}


def _nearness(setting: Setting, nudge: Nudge) -> Decimal:
    """1 for the print's own width, 0 for the smallest that counts as the same print."""
    share = Decimal(repr(nudge.width_in)) / Decimal(repr(setting.sized.width_in))
    return (share - SMALLEST_SHARE) / (1 - SMALLEST_SHARE)


def _steps_down(
    setting: Setting, case: Case, method_id: str, here: CostReport
) -> Iterator[tuple[float, CostReport]]:
    """Widths at which the cost falls, the widest first: the largest of each cost."""
    method = setting.shop.method(method_id)
    stepped = isinstance(method.price, PerSheet | PerRoll | PerSize)
    if not stepped or (here.copies_per_sheet or 0) > MOST_COPIES:
        return
    top = int(Decimal(repr(setting.sized.width_in)) / SIZE_STEP_IN)
    bottom, total = int(top * SMALLEST_SHARE) + 1, here.total
    least = _cost(method, case, setting, bottom).total
    for _ in range(MOST_STEPS):
        if least >= total:
            return
        low, high = bottom, top
        while high - low > 1:
            middle = (low + high) // 2
            if _cost(method, case, setting, middle).total < total:
                low = middle
            else:
                high = middle
        cost = _cost(method, case, setting, low)
        yield float(low * SIZE_STEP_IN), cost
        top, total = low, cost.total


def _smaller_nudge(
    setting: Setting,
    report: MethodReport,
    here: CostReport,
    cost: CostReport,
    width_in: float,
    now: CostReport,
) -> Nudge:
    share = 1 - width_in / setting.sized.width_in
    size = f"Printed {width_in:g} in wide ({share * 100:.1f} % smaller), {_units_words(here, cost)}"
    saving = now.total - cost.total
    return Nudge(
        id="smaller",
        text=f"{size}: {report.name.lower()} at {saving} less in cost.",
        method=report.id,
        width_in=width_in,
        saving=saving,
    )


def _cost(method: Method, case: Case, setting: Setting, steps: int) -> CostReport:
    cost = cost_in(method, case, _at_width(setting, float(steps * SIZE_STEP_IN)))
    assert cost is not None
    return cost


def _at_width(setting: Setting, width_in: float) -> Setting:
    return replace(setting, sized=setting.sized.measured.at(width_in))


def _units_words(here: CostReport, there: CostReport) -> str:
    if here.copies_per_sheet is not None and there.copies_per_sheet != here.copies_per_sheet:
        return f"{there.copies_per_sheet} a sheet instead of {here.copies_per_sheet}"
    if here.bought != there.bought:
        return f"{there.bought} {there.unit} instead of {here.bought}"
    return "a smaller size class"


# --- stock inks, a larger run -------------------------------------------------------------------


def _stock_inks(setting: Setting, case: Case, best: MethodReport) -> Iterator[Nudge]:
    """Inks from the shelf in place of those mixed to order."""
    method = setting.shop.method(best.id)
    mixed = [ink for ink in case.inks if ink.plan == "mixed" and ink.stock is not None]
    if not mixed or not method.mixes_inks or best.cost is None:
        return
    plain = tuple(ink.model_copy(update={"plan": "stock"}) for ink in case.inks)
    cost = cost_in(method, replace(case, inks=plain), setting)
    if cost is None:
        return
    saving = best.cost.total - cost.total
    names = ", ".join(
        f"{ink.name} in {ink.stock.name} ({ink.stock.delta_e_2000:.1f} dE00 away)"
        for ink in mixed
        if ink.stock is not None
    )
    text = f"With stock inks instead of mixed ones, {names}: {saving} less in cost."
    yield Nudge(id="stock-inks", text=text, method=best.id, saving=saving)


def _larger_run(setting: Setting, case: Case, best: MethodReport) -> Iterator[Nudge]:
    """A break from which more garments cost less than these, blanks and all."""
    rules, different = setting.shop.prices, setting.print_.each_different
    price, now = setting.shop.method(best.id).price, best.cost
    pieces = setting.order.pieces
    if not isinstance(price, PerPiece | PerStitch) or now is None or pieces is None:
        return
    method = setting.shop.method(best.id)
    for count in (b for b in price.breaks if b > now.prints):
        more = next(
            q
            for q in range(pieces + 1, count + 1)
            if prints_of(q, rules.spares, each_different=different) >= count
        )
        garment = setting.order.garment.model_copy(update={"quantity": more, "sizes": ()})
        order = setting.order.model_copy(update={"garment": garment})
        cost = cost_in(method, case, replace(setting, order=order))
        if cost is not None and cost.total < now.total:
            saving = now.total - cost.total
            text = f"{more} pieces cost {saving} less than {pieces}, garments and all."
            yield Nudge(id="larger-run", text=text, method=best.id, pieces=more, saving=saving)
            return


# --- art that is larger than everything ---------------------------------------------------------


def _fitting(setting: Setting, methods: Sequence[MethodReport]) -> Iterator[Nudge]:
    """The widest print, to a hundredth of an inch, for which some method suits."""
    if not any(f.id == "price-none" for m in methods for f in m.findings):
        return
    low, high = int(SMALLEST_PRINT_IN * 100), int(setting.sized.width_in * 100)
    if _suitable(setting, low / 100) is None:
        return
    while high - low > 1:
        middle = (low + high) // 2
        if _suitable(setting, middle / 100) is None:
            high = middle
        else:
            low = middle
    best = _suitable(setting, low / 100)
    if best is not None:
        price = "" if best.cost is None else f" at {best.cost.price_total} {best.cost.currency}"
        text = f"Printed {low / 100:g} in wide: {best.name.lower()}{price}."
        yield Nudge(id="fits", text=text, method=best.id, width_in=low / 100, saving=Decimal(0))


def _suitable(setting: Setting, width_in: float) -> MethodReport | None:
    smaller = _at_width(setting, width_in)
    case = case_of(smaller, smaller.inks)
    return cheapest([method_report(m, case, smaller) for m in setting.shop.methods])
