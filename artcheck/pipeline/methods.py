"""Each method on one print: findings, verdict, cost, press settings; and quantities compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from artcheck.domain.check import CostReport, Crossover, InkReport, MethodReport, PressReport
from artcheck.domain.findings import Finding, verdict_of
from artcheck.domain.order import Garment, Order
from artcheck.domain.shop import GarmentStock, Method, Shop, Spares
from artcheck.errors import PriceError
from artcheck.judge import Case, cautions, judge_method, too_large
from artcheck.matching import contrasts
from artcheck.pipeline.setting import Setting, blank_of
from artcheck.pricing.crossover import MOST_PIECES, crossover, crossover_of_one
from artcheck.pricing.delivery import delivery_of
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import cost_curve
from artcheck.pricing.quote import (
    Blanks,
    Run,
    method_cost,
    money_of,
    prints_by_quantity,
    prints_of,
)
from artcheck.pricing.spares import spares_by_size

UNDERBASE_BELOW_L = 80.0
"""Garments darker than this need white under inks that do not cover (common practice)."""


def case_of(setting: Setting, inks: tuple[InkReport, ...]) -> Case:
    """Everything that decides whether this print suits a method."""
    return Case(
        sized=setting.sized,
        limits=setting.shop.limits,
        inks=inks,
        ink_count=ink_count(setting, inks),
        brands=setting.brands,
        contrast=contrasts(inks, setting.garment, setting.shop.limits),
        cloth=setting.cloth,
        placement=setting.placement,
        each_different=setting.print_.each_different,
        inks_asked=setting.print_.inks,
        equipment=setting.shop.equipment,
        stock=setting.shop.inks,
        print_warnings=setting.print_warnings,
    )


def ink_count(setting: Setting, inks: tuple[InkReport, ...]) -> int | None:
    """Plates that a spot method makes: garment-coloured inks are left out, one remains at least."""
    if setting.print_.inks:
        return len(setting.print_.inks)
    if setting.sized.measured.inks.count is None:
        return None
    return max(sum(1 for ink in inks if not ink.is_garment), 1)


def method_report(method: Method, case: Case, setting: Setting) -> MethodReport:
    """One method on this print; without a cost where the list or the order gives none."""
    shop = setting.shop
    findings = judge_method(case, method, shop.prices, shop.currency)
    cost: CostReport | None = None
    try:
        cost = cost_in(method, case, setting)
    except PriceError as reason:
        if not any(f.severity == "stop" and not f.curable for f in findings):
            findings = (too_large(str(reason)), *findings)
    return MethodReport(
        id=method.id,
        name=method.name,
        family=method.family,
        verdict=verdict_of(findings),
        recommendable=method.recommend,
        inks=case.ink_count if method.most_inks is not None else None,
        findings=findings,
        cost=cost,
        press=_press(method, setting, findings),
    )


def job_of(method: Method, case: Case, setting: Setting, prints: int) -> Job | None:
    """The design as this method would buy it; None when it needs an ink count and has none."""
    if method.most_inks is not None and case.ink_count is None:
        return None
    dark = setting.garment is not None and setting.garment.lab[0] < UNDERBASE_BELOW_L
    return Job(
        prints=prints,
        width_in=setting.sized.width_in,
        height_in=setting.sized.height_in,
        inks=case.ink_count or 1,
        mixed=sum(1 for ink in case.inks if ink.plan == "mixed"),
        underbase=dark and not method.opaque,
        each_different=setting.print_.each_different,
        shapes=setting.sized.measured.detail.shapes,
        ink_area_in2=setting.sized.ink_area_in2,
    )


def cost_in(method: Method, case: Case, setting: Setting) -> CostReport | None:
    """The print's cost by this method; None where the order or the art lacks what decides it.

    Raises
    ------
    PriceError
        The price list gives no figure.
    """
    job = ordered_job(method, case, setting)
    return cost_of(method, job, setting) if job else None


def ordered_job(method: Method, case: Case, setting: Setting) -> Job | None:
    """`job_of` for the order's quantity; None where that is not told."""
    pieces = setting.order.pieces
    if pieces is None:
        return None
    spares = setting.shop.prices.spares
    prints = prints_of(pieces, spares, each_different=setting.print_.each_different)
    return job_of(method, case, setting, prints)


def cost_of(method: Method, job: Job, setting: Setting) -> CostReport:
    """What the order costs when this is its print.

    Raises
    ------
    PriceError
        The method's price list gives no figure for this print.
    """
    run = run_of(setting.order, setting.blank, setting.print_.art_minutes)
    return method_cost(method, job, run, setting.shop.prices, setting.shop.currency)


def run_of(
    order: Order, blank: GarmentStock | None, art_minutes: int, spares: Spares | None = None
) -> Run:
    """The shared lines of an order of one garment; its quantity must be known.

    With ``spares`` the spare garments are told by size.
    """
    assert order.pieces is not None
    return Run(
        pieces=order.pieces,
        spares=() if spares is None else spares_by_size(order, spares),
        blank=_charged(order.garment, blank),
        blank_words=f"{blank.kind} blanks" if blank else "",
        art_minutes=art_minutes,
        rush=order.rush,
    )


def whole_run(order: Order, shop: Shop) -> Run:
    """The shared lines of a whole order, of one garment or several."""
    minutes = sum(print_.art_minutes for print_ in order.prints)
    run = run_of(order, blank_of(order, shop), minutes, shop.prices.spares)
    if not order.garments:
        return run
    spares = spares_by_size(order, shop.prices.spares)
    found = []
    for garment in order.garments:
        blank = blank_of(order.model_copy(update={"garment": garment}), shop)
        assert garment.pieces is not None
        found.append(
            Blanks(
                pieces=garment.pieces,
                price=_charged(garment, blank),
                words=f"{garment.label or 'garment'} blanks",
                spares=tuple(size for size in spares if size.garment in (garment.label, "")),
            )
        )
    return replace(run, several=tuple(found))


def _charged(garment: Garment, blank: GarmentStock | None) -> Decimal | None:
    """What one costs the shop; None where it supplies none."""
    return None if blank is None or garment.supplied else blank.price


def _press(method: Method, setting: Setting, findings: tuple[Finding, ...]) -> PressReport | None:
    if method.press is None:
        return None
    return PressReport(
        temperature_f=method.press.temperature_f,
        seconds=method.press.seconds,
        pressure=method.press.pressure,
        peel=method.press.peel,
        cautions=cautions(method, setting.cloth, setting.shop.equipment, findings),
    )


def flips_of(methods: Sequence[MethodReport], case: Case, setting: Setting) -> Crossover:
    """Cheapest method by quantity among those that suit and may be recommended."""
    priced = list(totals_of(methods, case, setting, most=1))
    if len(priced) == 1:
        return crossover_of_one(priced[0])
    return crossover(totals_of(methods, case, setting))


def totals_of(
    methods: Sequence[MethodReport], case: Case, setting: Setting, most: int = MOST_PIECES
) -> dict[str, list[int]]:
    """Transfers with freight for 1 ... ``most`` pieces, in the smallest unit of money, by method.

    Only methods that suit and may be recommended. All other costs are the same by every method.
    """
    rules, shop = setting.shop.prices, setting.shop
    different = setting.print_.each_different
    prints = _prints_by_quantity(rules.spares.share, rules.spares.least, different)[:most]
    totals: dict[str, list[int]] = {}
    for report in methods:
        if report.verdict == "unsuitable" or not report.recommendable:
            continue
        method = shop.method(report.id)
        job = job_of(method, case, setting, 1)
        if job is None:
            continue
        money = money_of(rules, shop.currency)
        try:
            delivery = delivery_of(method.supplier, rules)
            curve = cost_curve(method.price, job, money, prints[-1], delivery)
        except PriceError:
            continue
        totals[report.id] = list(map(curve.__getitem__, prints))
    return totals


@lru_cache(maxsize=16)
def _prints_by_quantity(share: float, least: int, different: bool) -> tuple[int, ...]:
    """Up to `MOST_PIECES`."""
    spares = Spares(share=share, least=least)
    return prints_by_quantity(MOST_PIECES, spares, each_different=different)
