"""Several prints on one order: their methods chosen together; and what would change the answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from artcheck.domain.check import MethodReport, QuoteReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.domain.shop import GarmentStock, Shop
from artcheck.pipeline.methods import case_of, job_of, method_report, whole_run
from artcheck.pipeline.plates import design_key, plates_of
from artcheck.pipeline.setting import Setting, setting_of
from artcheck.pipeline.together import cheapest_choice, sharing_choices
from artcheck.pricing.purchase import purchase
from artcheck.pricing.quote import Decoration, Sharing, money_of, quote
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
    """The methods that make the whole order cheapest: freight paid once, sheets shared."""
    if order.pieces is None:
        return [r.recommendation.method for r in reports], None
    parts = [
        _candidates(report, art, order, shop, i)
        for i, (report, art) in enumerate(zip(reports, measured, strict=True))
    ]
    if not all(parts):
        return [r.recommendation.method for r in reports], None
    run = whole_run(order, shop)
    sharing = Sharing(money_of(shop.prices, shop.currency))

    def quoted(choice: Sequence[Decoration], shared: Sharing | None = None) -> QuoteReport:
        return quote(choice, run, shop.prices, shop.currency, shared)

    first = cheapest_choice(parts, lambda decorations: quoted(decorations).cost)
    choices = [first]
    if len(parts) > 1:
        choices += sharing_choices(parts, first, sharing)
    answers = [(choice, quoted(choice, sharing)) for choice in choices]
    choice, answer = min(answers, key=lambda one: one[1].cost)
    if len(parts) > 1:
        unproposed = list(_all_by_unproposed(reports, measured, order, shop))
        cheaper = [
            words for own in unproposed if (words := _less(own, quoted(own, sharing), answer))
        ]
        answer = answer.model_copy(update={"notes": (*answer.notes, *cheaper)})
    return [part.method.id for part in choice], answer


def _all_by_unproposed(
    reports: Sequence[Report], measured: Sequence[Measurements], order: Order, shop: Shop
) -> Iterator[list[Decoration]]:
    """Every print by one method of sheets or rolls that the shop prices without proposing it."""
    for method in shop.methods:
        if method.recommend or not isinstance(method.price, PerSheet | PerRoll):
            continue
        entries = [next(m for m in r.methods if m.id == method.id) for r in reports]
        if any(entry.verdict == "unsuitable" or entry.cost is None for entry in entries):
            continue
        yield [
            bought_by([entry], art, order, shop, n)[0]
            for n, (entry, art) in enumerate(zip(entries, measured, strict=True))
        ]


def _less(choice: Sequence[Decoration], other: QuoteReport, answer: QuoteReport) -> str | None:
    if other.cost >= answer.cost:
        return None
    return (
        f"All prints together by {choice[0].method.name.lower()} would cost"
        f" {answer.cost - other.cost} {answer.currency} less; the shop prices that method without"
        " proposing it, and artcheck gang lays it out"
    )


def shared_words(quoted: QuoteReport | None) -> dict[int, str]:
    """What each print that is bought together with others shares, by its place in the order."""
    found: dict[int, str] = {}
    for together in quoted.together if quoted else ():
        names = dict(zip(together.prints, together.names, strict=True))
        for place in together.prints:
            others = " and ".join(name for n, name in names.items() if n != place)
            found[place] = f"{_SHARES[together.how]} {others}"
    return found


_SHARES = {
    "one design": "bought in one with",
    "shared sheets": "on sheets shared with",
    "one roll": "on one length of roll with",
}


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


def print_name(order: Order, index: int) -> tuple[str, str]:
    """What one print of several is called, and what tells it from others of the same art."""
    if len(order.prints) == 1:
        return "", ""
    print_ = order.prints[index]
    stem = Path(print_.art).stem
    same = [
        other
        for other in order.prints
        if Path(other.art).stem == stem and other.garments == print_.garments
    ]
    marks = [", ".join(print_.garments), ", ".join(print_.sizes)]
    if len({other.placement for other in same}) > 1:
        marks.append(print_.placement or "")
    elif len({(other.width_in, other.height_in, other.sizes) for other in same}) > 1:
        side = print_.width_in or print_.height_in
        marks.append(f"{side:g} in" if side and not print_.sizes else "")
    return stem, ", ".join(filter(None, marks))


def bought_by(
    entries: Sequence[MethodReport], art: Measurements, order: Order, shop: Shop, index: int
) -> list[Decoration]:
    """One print by each of these methods, whatever the verdict; those without a price left out."""
    setting = setting_of(art, order, shop, index)
    case, print_ = case_of(setting, setting.inks), setting.print_
    words, where = print_name(order, index)
    found = []
    for entry in entries:
        if entry.cost is None:
            continue
        method = shop.method(entry.id)
        job = job_of(method, case, setting, entry.cost.prints)
        assert job is not None
        plates, mixed = plates_of(case.inks) if method.most_inks is not None else NO_PLATES
        found.append(
            Decoration(
                method=method,
                job=job,
                bought=purchase(method.price, job, money_of(shop.prices, shop.currency)),
                words=words,
                where=where,
                pieces=setting.order.pieces,
                art=design_key(print_),
                plates=plates,
                mixed=mixed,
            )
        )
    return found


NO_PLATES: tuple[frozenset[str], frozenset[str]] = (frozenset(), frozenset())
"""Of methods that print all colours at once."""
