"""Ranks the methods, says why, and says what would change it. All from options already computed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from artcheck.domain.check import (
    TIE,
    Alternative,
    CostReport,
    Crossover,
    Flip,
    MethodReport,
    Nudge,
    Recommendation,
)
from artcheck.domain.findings import Finding

MOST_REASONS = 5
"""Reasons shown: more are not read."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Another answer, had one fact been different: the words for it, and the methods then."""

    words: str
    methods: tuple[MethodReport, ...]


def recommend(
    methods: Sequence[MethodReport],
    flips: Crossover,
    pieces: int | None,
    what_ifs: Sequence[WhatIf] = (),
    chosen: str | None = None,
    *,
    alone: bool = True,
    shared: str = "",
    nudges: Sequence[Nudge] = (),
) -> Recommendation:
    """The answer for one print.

    ``chosen`` is a method that the order fixes, or that the whole order's best combination uses;
    without it the cheapest suitable method wins (the earlier in the shop's list among equals).
    ``alone`` is False for one print of several: the price is then the order's, not the print's.
    ``shared`` says what it is bought together with: what it costs for itself then decides nothing.
    """
    best = best_of(methods, chosen)
    return Recommendation(
        method=best.id if best else None,
        headline=_headline(best, methods, flips, alone=alone, shared=shared),
        reasons=tuple(_reasons(best, methods, chosen is not None, shared)[:MOST_REASONS]),
        alternatives=tuple(
            Alternative(method=m.id, why_not=_why_not(m, best)) for m in methods if m is not best
        ),
        flips=flips.flips,
        close_call=flips.close_call,
        stable_from_quantity=flips.stable_from_quantity,
        would_change_it=(
            *_quantity_words(flips, methods, pieces),
            *(_what_if_words(w, best) for w in what_ifs),
            *(nudge.text for nudge in nudges),
        ),
        nudges=tuple(nudges),
    )


def cheapest(methods: Sequence[MethodReport]) -> MethodReport | None:
    """The suitable, recommendable method with the least total; unpriced ones come last."""
    fit = [m for m in methods if m.recommendable and m.verdict != "unsuitable"]
    priced = [m for m in fit if m.cost is not None]
    if priced:
        return min(priced, key=lambda m: m.cost.total if m.cost else Decimal(0))
    return fit[0] if fit else None


def best_of(methods: Sequence[MethodReport], chosen: str | None) -> MethodReport | None:
    """The method that is fixed, else the cheapest."""
    return _named(methods, chosen) if chosen else cheapest(methods)


def _named(methods: Sequence[MethodReport], method_id: str) -> MethodReport | None:
    return next((m for m in methods if m.id == method_id), None)


# --- words --------------------------------------------------------------------------------------


def _headline(
    best: MethodReport | None,
    methods: Sequence[MethodReport],
    flips: Crossover,
    *,
    alone: bool,
    shared: str,
) -> str:
    if best is None:
        reason = _first_stop(methods[0]) if methods else None
        return "No method on hand suits this order." + (f" {reason.text}" if reason else "")
    priced = _price_words(best.cost, flips, best.id, alone=alone)
    first = best.name + (f": {shared}, priced with the whole order" if shared else priced)
    stops = [f for f in best.findings if f.severity == "stop"]
    changes = [f for f in best.findings if f.severity == "change"]
    if stops:
        return f"{first}. But first: {stops[0].text}"
    if changes:
        count = "one change" if len(changes) == 1 else f"{len(changes)} changes"
        return f"{first}, after {count}."
    return f"{first}."


def _price_words(cost: CostReport | None, flips: Crossover, method_id: str, *, alone: bool) -> str:
    if cost is not None and not alone:
        return f": transfers for {cost.decoration} {cost.currency}, priced with the whole order"
    if cost is not None:
        return (
            f": {cost.price_total} {cost.currency} for {cost.pieces} pieces"
            f" ({cost.price_per_piece} each)"
        )
    own = [f for f in flips.flips if f.method == method_id]
    if not own or len(flips.flips) == 1:
        return ""
    if own[-1] is flips.flips[-1]:  # where sheets make it flip to and fro, the last one stays
        return f" from {own[-1].from_quantity} pieces"
    return f" for {own[0].from_quantity} to {own[0].to_quantity} pieces"


def _reasons(
    best: MethodReport | None, methods: Sequence[MethodReport], fixed: bool, shared: str
) -> list[str]:
    if best is None:
        return [f"{m.name}: {stop.text}" for m in methods if (stop := _first_stop(m))]
    reasons = []
    rivals = [m for m in methods if m is not best and m.recommendable]
    for rival in rivals:
        reasons += _against_rival(best, rival, shared)
    reasons += [f.text for f in best.findings if f.id in _REASONS_FOR]
    if best.cost is not None and not shared:
        reasons += best.cost.notes
    if fixed and not reasons:
        reasons.append("The order asks for this method.")
    return reasons


_REASONS_FOR = ("brand-colour-mixed",)
"""Findings that speak for a method rather than against it."""


def _against_rival(best: MethodReport, rival: MethodReport, shared: str) -> list[str]:
    if rival.verdict == "unsuitable":
        stop = _first_stop(rival)
        return [f"{rival.name} is out: {stop.text}"] if stop else []
    if best.cost is None or rival.cost is None or shared:
        return []
    ours, theirs = best.cost.decoration, rival.cost.decoration
    sheets = _sheets_words(rival.cost)
    if theirs > ours:
        return [f"The transfers cost {ours}; {rival.name.lower()} cost {theirs}{sheets}."]
    return []


def _sheets_words(cost: CostReport) -> str:
    if cost.sheets_needed is None or cost.sheets_bought is None:
        return ""
    if cost.sheets_bought <= cost.sheets_needed:
        return f" ({cost.sheets_bought} sheets)"
    return f" ({cost.sheets_needed} sheets needed, {cost.sheets_bought} to buy)"


def _why_not(method: MethodReport, best: MethodReport | None) -> str:
    stop = _first_stop(method)
    if method.verdict == "unsuitable" and stop:
        return stop.text
    if not method.recommendable:
        return f"{_dearer(method, best)} The shop prices it for comparison only."
    if method.cost is None and (best is None or best.cost is None):
        return "No price yet: say how many pieces."
    if method.cost is None:
        return "It could not be priced."
    return _dearer(method, best)


def _dearer(method: MethodReport, best: MethodReport | None) -> str:
    if method.cost is None or best is None or best.cost is None:
        return ""
    more = method.cost.total - best.cost.total
    word = "more" if more >= 0 else "less"
    return f"It costs {abs(more)} {method.cost.currency} {word} in all."


def _first_stop(method: MethodReport) -> Finding | None:
    stops = [f for f in method.findings if f.severity == "stop"]
    return next((f for f in stops if not f.curable), stops[0] if stops else None)


def _quantity_words(
    flips: Crossover, methods: Sequence[MethodReport], pieces: int | None
) -> list[str]:
    names = {m.id: m.name for m in methods} | {TIE: "either"}
    if len(flips.flips) < 2:
        return []
    words = []
    if flips.close_call:
        low, high = flips.close_call
        words.append(
            f"Between {low} and {high} pieces the cheaper method changes from sheet to sheet:"
            " a close call."
        )
    last = flips.flips[-1]
    if pieces is None or pieces < last.from_quantity:
        words.append(
            f"From {last.from_quantity} pieces {names[last.method].lower()} are the cheapest."
        )
    else:
        earlier = _last_other(flips.flips, last.method)
        if earlier:
            words.append(
                f"Up to {earlier.to_quantity} pieces {names[earlier.method].lower()} can be"
                " the cheapest."
            )
    return words


def _last_other(flips: Sequence[Flip], method: str) -> Flip | None:
    others = [f for f in flips if f.method not in (method, TIE)]
    return others[-1] if others else None


def _what_if_words(what_if: WhatIf, best: MethodReport | None) -> str:
    other = cheapest(what_if.methods)
    if other is None:
        return f"{what_if.words}: still no method suits."
    if other.cost is None:
        return f"{what_if.words}: {other.name}."
    price = (
        f"{other.name} at {other.cost.price_total} {other.cost.currency}"
        f" ({other.cost.price_per_piece} each)"
    )
    if best is None or best.cost is None:
        return f"{what_if.words}: {price}."
    saving = best.cost.total - other.cost.total
    word = "less" if saving >= 0 else "more"
    return f"{what_if.words}: {price}, {abs(saving)} {word} in cost."
