"""A price step by step, as a person with pencil and paper would reckon it.

Written from the report's own figures, so that the steps cannot differ from the price they explain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from artcheck.domain.check import CostLine, CostReport, OrderReport, QuoteReport, Report
from artcheck.domain.shop import PriceRules, Spares
from artcheck.pricing.quote import price_of
from artcheck.report.words import chosen_method
from artcheck.units import round_money


def explained(
    report: Report | OrderReport, rules: PriceRules, *, rush: bool = False
) -> Iterator[str]:
    """The recommended method's price, or that of an order of several prints."""
    if isinstance(report, OrderReport):
        if report.quote is not None:
            yield from _print_steps(report, rules)
            yield from quote_steps(report.quote, rules, rush=rush)
        return
    for method in report.methods:
        if method.id == report.recommendation.method and method.cost is not None:
            yield from cost_steps(method.cost, rules, rush=rush)


def _print_steps(report: OrderReport, rules: PriceRules) -> Iterator[str]:
    """Prints and spares of every print, and the sheets of those that share none."""
    together = report.quote.together if report.quote else ()
    joined = {place for one in together for place in one.prints}
    costs = [chosen.cost if (chosen := chosen_method(one)) else None for one in report.prints]
    for place, (name, cost) in enumerate(zip(report.names, costs, strict=True)):
        if cost is None:
            continue
        yield f"{name}: {_uncapital(_prints(cost, rules.spares))}"
        if place not in joined:
            yield from (f"{name}: {_uncapital(step)}" for step in _units(cost))
    for one in together:
        own = [cost for place in one.prints if (cost := costs[place]) is not None]
        if one.how == "one design" and own and own[0].copies_per_sheet:
            prints, copies = sum(cost.prints for cost in own), own[0].copies_per_sheet
            holds = f"a sheet holds {copies}, {prints} prints need {-(-prints // copies)} sheets"
            yield f"{' + '.join(one.names)}: {holds}."


def _uncapital(words: str) -> str:
    return words[:1].lower() + words[1:]


def cost_steps(cost: CostReport, rules: PriceRules, *, rush: bool = False) -> Iterator[str]:
    """One print by one method: prints, what is bought, every line, the price."""
    yield _prints(cost, rules.spares)
    yield from _units(cost)
    yield from (f"{note[:1].upper()}{note[1:]}." for note in cost.notes)
    yield from _lines(cost.lines)
    yield _sum("Cost", [line.amount for line in cost.lines], cost.total)
    yield from _price(cost.total, rules, cost.currency, rush=rush)
    yield _piece(cost.price_total, cost.pieces, cost.price_per_piece)


def quote_steps(quote: QuoteReport, rules: PriceRules, *, rush: bool = False) -> Iterator[str]:
    """A whole order: every line, the price."""
    yield from _lines(quote.lines)
    yield _sum("Cost", [line.amount for line in quote.lines], quote.cost)
    yield from _price(quote.cost, rules, quote.currency, rush=rush)
    yield _piece(quote.price, quote.pieces, quote.price_per_piece)


def _prints(cost: CostReport, spares: Spares) -> str:
    extra = cost.prints - cost.pieces
    if extra <= 0:
        return f"Prints: {cost.pieces}, no spares."
    share = Decimal(repr(spares.share)) * 100
    exact = share * cost.pieces / 100
    why = f"{_short(share)} % of {cost.pieces} is {_short(exact)}, rounded up"
    least = f" (at least {spares.least})" if extra == spares.least else ""
    return f"Prints: {cost.pieces} + {extra} = {cost.prints}; spares: {why}{least}."


def _short(number: Decimal) -> str:
    """Without zeros at its end."""
    return f"{number.normalize():f}"


def _units(cost: CostReport) -> Iterator[str]:
    if cost.needed is None or cost.bought is None or cost.unit in (None, "prints", "pieces"):
        return
    if cost.copies_per_sheet:
        holds = f"{cost.copies_per_sheet} {'copy' if cost.copies_per_sheet == 1 else 'copies'}"
        yield f"A sheet holds {holds}; {cost.prints} prints need {cost.needed} sheets."
    else:
        yield f"{cost.prints} prints need {cost.needed} {cost.unit}."
    if cost.bought > cost.needed:
        yield f"Bought: {cost.bought} {cost.unit}, the fewest or the cheapest on the price list."


def _lines(lines: Sequence[CostLine]) -> Iterator[str]:
    for line in lines:
        how = f" ({line.how})" if line.how else ""
        equation = f"{line.quantity:f} x {line.unit_amount:f} = {line.amount:f}"
        yield f"{line.what[:1].upper()}{line.what[1:]}: {equation}{how}"


def _sum(what: str, amounts: Sequence[Decimal], total: Decimal) -> str:
    if len(amounts) < 2:
        return f"{what}: {total:f}"
    return f"{what}: {' + '.join(f'{amount:f}' for amount in amounts)} = {total:f}"


def _price(cost: Decimal, rules: PriceRules, currency: str, *, rush: bool) -> Iterator[str]:
    price = price_of(cost, rules, currency)
    if rules.margin is not None:
        how = f"{cost:f} / (1 - {rules.margin:f})"
        words = f"a margin of {_short(rules.margin * 100)} % of the price"
    else:
        mark_up = rules.mark_up or Decimal(0)
        how, words = f"{cost:f} x (1 + {mark_up:f})", f"a mark-up of {_short(mark_up * 100)} %"
    yield f"Price: {how} = {price:f} ({words})"
    if rush:
        hurried = round_money(price * (1 + rules.rush_share), currency)
        yield f"Rush: {price:f} x (1 + {rules.rush_share:f}) = {hurried:f}"


def _piece(price: Decimal, pieces: int, per_piece: Decimal) -> str:
    return f"A piece: {price:f} / {pieces} = {per_piece:f} (rounded half up, for show)"
