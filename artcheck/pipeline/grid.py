"""The method grid: every quantity and number of inks of one print size, without any art.

Flat art without fine detail stands in for the file, so that the same rules, prices and flips are
used as for a real one; what depends on the art itself is told in the grid's assumptions.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from artcheck.domain.artwork import Background
from artcheck.domain.check import CostReport, Flip, MethodReport
from artcheck.domain.grid import GridCell, GridMethod, GridReport, GridRow, InkFlips, MethodLeftOut
from artcheck.domain.measurements import (
    AreaMeasured,
    DetailMeasured,
    EdgesMeasured,
    InksMeasured,
    Measurements,
    ToneMeasured,
)
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.prices import PerArea, PerPiece, PerSheet, PerStitch
from artcheck.domain.shop import Shop
from artcheck.errors import PriceError, UsageError
from artcheck.judge import Case
from artcheck.pipeline.methods import case_of, job_of, method_report, run_of, totals_of
from artcheck.pipeline.setting import Setting, setting_of
from artcheck.pricing.crossover import crossover
from artcheck.pricing.quote import method_cost, prints_of
from artcheck.version import __version__

MOST_QUANTITY = 500
"""Largest quantity of the grid."""

USUAL_QUANTITIES = (1, 6, 12, 24, 36, 48, 72, 96, 144, 200, 300, 400)
"""Rows that the grid has beside the flips, so that a price stands near every usual order."""

_PX_PER_IN = 200
"""Pixels that stand for an inch of the missing art: the steps in which sizes are priced."""

_SOME_SHARE = 0.5
"""Coverage of the missing art: stitches are reckoned from it, and the grid says so."""


_STANDS_FOR = (
    "Flat art without fine detail, fades or photographs, in stock inks; a check of the art itself"
    " comes first."
)


@dataclass(frozen=True, slots=True)
class _Column:
    """One number of inks: its case, who suits, and what each costs by quantity."""

    inks: int
    case: Case
    setting: Setting
    reports: tuple[MethodReport, ...]
    totals: dict[str, list[int]]
    flips: tuple[Flip, ...]


def method_grid(width_in: float, height_in: float, garment: Garment, shop: Shop) -> GridReport:
    """The cheapest suitable method by quantity and inks.

    Raises
    ------
    UsageError
        The fabric is not known to the shop, or no method suits at all.
    ColourError
        The garment's colour names none.
    """
    _check_fabric(garment, shop)
    order = Order(garment=garment, prints=(Print(art="", width_in=width_in),))
    setting = setting_of(_stand_in(width_in, height_in), order, shop, 0)
    columns = [_column(inks, setting) for inks in range(1, _most_inks(shop) + 1)]
    left_out = tuple(_left_out(columns))
    if not any(column.totals for column in columns):
        reasons = " ".join(dict.fromkeys(out.why for out in left_out))
        raise UsageError(f"No method of this shop suits such a print. {reasons}")
    used = {name for column in columns for name in column.totals}
    return GridReport(
        artcheck_version=__version__,
        shop=shop.name,
        demo_prices=shop.demo,
        currency=shop.currency,
        width_in=width_in,
        height_in=height_in,
        garment=garment.kind,
        garment_colour=garment.colour,
        fabric=garment.fabric,
        inks=tuple(column.inks for column in columns),
        methods=tuple(_grid_method(r) for r in columns[0].reports if r.id in used),
        left_out=left_out,
        rows=tuple(_rows(columns)),
        flips=tuple(InkFlips(inks=column.inks, flips=column.flips) for column in columns),
        assumes=tuple(_assumptions(setting)),
    )


def _grid_method(report: MethodReport) -> GridMethod:
    """What must change is told even though the grid prices it: heat and dye ruin garments."""
    cautions = tuple(f.text for f in report.findings if f.severity == "change")
    return GridMethod(id=report.id, name=report.name, cautions=cautions)


def _check_fabric(garment: Garment, shop: Shop) -> None:
    if garment.fabric is None or shop.fabric(garment.fabric) is not None:
        return
    names = [name for fabric in shop.fabrics for name in (fabric.name, *fabric.also)]
    near = difflib.get_close_matches(garment.fabric.lower(), names, n=1)
    hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(sorted(names))}."
    raise UsageError(f"The shop knows no fabric '{garment.fabric}'. {hint}")


def _stand_in(width_in: float, height_in: float) -> Measurements:
    """Flat art of this size, with nothing in it to find fault with."""
    width, height = (max(1, round(side * _PX_PER_IN)) for side in (width_in, height_in))
    return Measurements(
        file="",
        digest="",
        kind="vector",
        pixels=(width, height),
        has_alpha=True,
        profile=None,
        resolution_ppi=None,
        declared_inks=(),
        vector=None,
        background=Background(kind="transparent", hex=None, reason=""),
        notes=(),
        area=AreaMeasured(
            box=(0, 0, height, width), ink_px=width * height * _SOME_SHARE, coverage=_SOME_SHARE
        ),
        inks=InksMeasured(count=1, count_without_white=1),
        tone=ToneMeasured(kind="flat", gradient_share=0, photo_share=0),
        detail=DetailMeasured(),
        sharpness=None,
        edges=EdgesMeasured(soft_share=0, soft_width_px=0),
    )


def _most_inks(shop: Shop) -> int:
    """The most inks that any list by the ink prices; 1 where there is none."""
    lists = [m.price for m in shop.methods if isinstance(m.price, PerSheet | PerPiece)]
    return max((price.most_inks for price in lists), default=1)


def _column(inks: int, setting: Setting) -> _Column:
    """Methods that print so many inks as they are: nothing is left to change."""
    case = replace(case_of(setting, ()), ink_count=inks)
    reports = tuple(method_report(method, case, setting) for method in setting.shop.methods)
    fit = [report for report in reports if not _stop(report)]
    totals = totals_of(fit, case, setting, MOST_QUANTITY)
    return _Column(inks, case, setting, reports, totals, crossover(totals).flips)


def _stop(report: MethodReport) -> str | None:
    """Why the method does not print this; None when it does."""
    return next((f.text for f in report.findings if f.severity == "stop"), None)


def _left_out(columns: Sequence[_Column]) -> list[MethodLeftOut]:
    """Methods that print no number of inks, and why."""
    return [
        MethodLeftOut(method=report.id, name=report.name, why=why or "")
        for report in columns[0].reports
        if not any(report.id in column.totals for column in columns)
        and (why := _stop(report) or _unproposed(report) or _no_price(report, columns[0]))
    ]


def _unproposed(report: MethodReport) -> str | None:
    return None if report.recommendable else "The shop prices it for comparison only."


def _no_price(report: MethodReport, column: _Column) -> str | None:
    """The price list's own words on why it gives no figure."""
    method = column.setting.shop.method(report.id)
    job = job_of(method, column.case, column.setting, 1)
    if job is None:
        return None
    order = column.setting.order.model_copy(update={"garment": Garment(quantity=1)})
    try:
        run = run_of(order, None, 0)
        method_cost(method, job, run, column.setting.shop.prices, column.setting.shop.currency)
    except PriceError as reason:
        return str(reason)
    return None


# --- rows and cells -----------------------------------------------------------------------------


def _rows(columns: Sequence[_Column]) -> list[GridRow]:
    starts = sorted(
        {q for q in USUAL_QUANTITIES if q <= MOST_QUANTITY}
        | {flip.from_quantity for column in columns for flip in column.flips}
    )
    ends = [*(start - 1 for start in starts[1:]), MOST_QUANTITY]
    return [
        GridRow(
            from_quantity=first,
            to_quantity=last,
            cells=tuple(_cell(column, first, last) for column in columns),
        )
        for first, last in zip(starts, ends, strict=True)
    ]


def _cell(column: _Column, first: int, last: int) -> GridCell | None:
    ranked = sorted(column.totals, key=lambda name: column.totals[name][first - 1])
    if not ranked:
        return None
    best, second = ranked[0], (ranked[1] if len(ranked) > 1 else None)
    cost = _cost(column, best, first)
    other = None if second is None else _cost(column, second, first)
    totals = column.totals
    return GridCell(
        inks=column.inks,
        method=best,
        price_per_piece=cost.price_per_piece,
        price_per_piece_at_end=_cost(column, best, last).price_per_piece,
        second=second,
        margin_to_second=None if other is None else other.price_per_piece - cost.price_per_piece,
        order_margin_to_second=None if other is None else other.price_total - cost.price_total,
        tie=second is not None and totals[best][first - 1] == totals[second][first - 1],
    )


def _cost(column: _Column, method_id: str, pieces: int) -> CostReport:
    """The whole order, as `check` would quote it."""
    setting, rules = column.setting, column.setting.shop.prices
    method = setting.shop.method(method_id)
    prints = prints_of(pieces, rules.spares, each_different=False)
    job = job_of(method, column.case, setting, prints)
    assert job is not None
    garment = setting.order.garment.model_copy(update={"quantity": pieces})
    run = run_of(setting.order.model_copy(update={"garment": garment}), setting.blank, 0)
    return method_cost(method, job, run, rules, setting.shop.currency)


def _assumptions(setting: Setting) -> list[str]:
    garment, blank = setting.order.garment, setting.blank
    words = [_STANDS_FOR]
    words.append(
        f"Prices hold the {blank.kind}, press labour and freight."
        if blank is not None
        else "Prices hold press labour and freight, no garment."
    )
    prices = [method.price for method in setting.shop.methods]
    if any(isinstance(price, PerStitch) for price in prices):
        words.append(f"Stitches are reckoned for art that covers {_SOME_SHARE:.0%} of its box.")
    if any(isinstance(price, PerArea) and price.weeding_seconds_per_shape for price in prices):
        words.append("Weeding by the shape is not in the prices: it depends on the art.")
    if garment.colour is None:
        words.append("The garment's colour is not told: no underbase is reckoned.")
    if garment.fabric is None and setting.fabric is None:
        words.append("The fabric is not told: whether it stands the press is not looked at.")
    return words
