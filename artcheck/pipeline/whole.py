"""Several prints on one order: their methods chosen together; and what would change the answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from artcheck.domain.check import MethodReport, QuoteReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.shop import GarmentStock, Shop
from artcheck.pipeline.methods import case_of, job_of, method_report, run_of
from artcheck.pipeline.setting import Setting, blank_of, setting_of
from artcheck.pipeline.together import cheapest_choice
from artcheck.pricing.purchase import purchase
from artcheck.pricing.quote import Decoration, money_of, quote
from artcheck.recommend import WhatIf, cheapest


def what_ifs(setting: Setting, methods: Sequence[MethodReport]) -> list[WhatIf]:
    """The same order with one fact changed, where that fact decides."""
    found = []
    if any(brand.critical for brand in setting.brands):
        names = " and ".join(b.name for b in setting.brands if b.critical)
        relaxed = tuple(b.model_copy(update={"critical": False}) for b in setting.brands)
        found.append(_what_if(f"If {names} may be close", replace(setting, brands=relaxed)))
    other = _other_blank(setting)
    if other is not None and cheapest(methods) is None:
        garment = setting.order.garment.model_copy(
            update={"fabric": other.fabric, "kind": other.kind}
        )
        changed = replace(
            setting,
            order=setting.order.model_copy(update={"garment": garment}),
            fabric=setting.shop.fabric(other.fabric),
            blank=other,
        )
        found.append(_what_if(f"On {other.fabric} {other.kind}s", changed))
    return found


def _what_if(words: str, setting: Setting) -> WhatIf:
    case = case_of(setting, setting.inks)
    methods = tuple(method_report(m, case, setting) for m in setting.shop.methods)
    return WhatIf(words, methods)


def _other_blank(setting: Setting) -> GarmentStock | None:
    """A garment of the same kind in a fabric that may be pressed."""
    kind = (setting.order.garment.kind or "").strip().lower()
    return next(
        (
            g
            for g in setting.shop.garments
            if g.kind.lower() == kind
            and (fabric := setting.shop.fabric(g.fabric)) is not None
            and fabric != setting.fabric
            and not fabric.refuse
        ),
        None,
    )


def methods_together(
    reports: Sequence[Report], measured: Sequence[Measurements], order: Order, shop: Shop
) -> tuple[list[str | None], QuoteReport | None]:
    """The methods that make the whole order cheapest, each supplier's freight paid once."""
    if order.pieces is None:
        return [r.recommendation.method for r in reports], None
    parts = [
        _candidates(report, art, order, shop, i)
        for i, (report, art) in enumerate(zip(reports, measured, strict=True))
    ]
    if not all(parts):
        return [r.recommendation.method for r in reports], None
    minutes = sum(print_.art_minutes for print_ in order.prints)
    run = run_of(order, blank_of(order, shop), minutes, shop.prices.spares)

    def quoted(choice: Sequence[Decoration]) -> QuoteReport:
        return quote(choice, run, shop.prices, shop.currency)

    choice = cheapest_choice(parts, lambda decorations: quoted(decorations).cost)
    return [part.method.id for part in choice], quoted(choice)


def _candidates(
    report: Report, art: Measurements, order: Order, shop: Shop, index: int
) -> list[Decoration]:
    """Each method that this print may use, bought: the one it is fixed to, or those recommended."""
    fixed = order.prints[index].method
    entries = [
        entry
        for entry in report.methods
        if entry.verdict != "unsuitable" and (entry.id == fixed if fixed else entry.recommendable)
    ]
    return bought_by(entries, art, order, shop, index)


def _line_name(order: Order, index: int) -> str:
    """What one print of several is called in the order's lines."""
    if len(order.prints) == 1:
        return ""
    print_ = order.prints[index]
    sizes = f" ({', '.join(print_.sizes)})" if print_.sizes else ""
    return f"{Path(print_.art).stem}{sizes}"


def bought_by(
    entries: Sequence[MethodReport], art: Measurements, order: Order, shop: Shop, index: int
) -> list[Decoration]:
    """One print by each of these methods, whatever the verdict; those without a price left out."""
    setting = setting_of(art, order, shop, index)
    case = case_of(setting, setting.inks)
    words = _line_name(order, index)
    found = []
    for entry in entries:
        if entry.cost is None:
            continue
        method = shop.method(entry.id)
        job = job_of(method, case, setting, entry.cost.prints)
        assert job is not None
        bought = purchase(method.price, job, money_of(shop.prices, shop.currency))
        found.append(
            Decoration(
                method=method, job=job, bought=bought, words=words, pieces=setting.order.pieces
            )
        )
    return found
