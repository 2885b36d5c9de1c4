"""From decoration to the price of an order: blanks, press labour, freight, art time, margin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from artcheck.domain.check import CostLine, CostReport, QuoteReport, SizeSpares
from artcheck.domain.shop import Method, PriceRules, Spares
from artcheck.pricing.delivery import FREE, delivery_of
from artcheck.pricing.job import Job, Money
from artcheck.pricing.purchase import Purchase, purchase
from artcheck.units import round_money

MINUTES_PER_HOUR = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What pricing needs to know of an order beside the designs.

    ``blank`` is the price of one garment, None where the shop does not supply it or where its
    kind is unknown (then no line stands for it). ``spares`` are the spare garments by size.
    """

    pieces: int
    spares: tuple[SizeSpares, ...] = ()
    blank: Decimal | None = None
    blank_words: str = "blank garments"
    art_minutes: int = 0
    rush: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoration:
    """One print of the order, bought by one method.

    ``pieces`` are the garments that carry it, spares not counted; None: all of the order's.
    """

    method: Method
    job: Job
    bought: Purchase
    words: str = ""
    pieces: int | None = None


def pieces_with_spares(pieces: int, spares: Spares) -> int:
    """Finished pieces plus spares: the share rounded up, at least the least.

    >>> pieces_with_spares(34, Spares(share=0.03, least=1))
    36
    """
    share, whole = _exactly(spares.share)
    return pieces + max(spares.least, -(-pieces * share // whole))


@lru_cache(maxsize=16)
def _exactly(share: float) -> tuple[int, int]:
    """The share as it is written: 0.03 is 3 in 100."""
    return Fraction(repr(share)).as_integer_ratio()


def prints_of(pieces: int, spares: Spares, *, each_different: bool) -> int:
    """Copies to buy of one design. A spare carries no other's name, so those have none."""
    return pieces if each_different else pieces_with_spares(pieces, spares)


def money_of(rules: PriceRules, currency: str) -> Money:
    """The shop's way of rounding."""
    return Money(currency, rules.rounding)


def method_cost(method: Method, job: Job, run: Run, rules: PriceRules, currency: str) -> CostReport:
    """An order of one print by one method, from its transfers to its price.

    Raises
    ------
    PriceError
        The method's price list gives no figure for this print.
    """
    delivery = delivery_of(method.supplier, rules)
    bought = purchase(method.price, job, money_of(rules, currency), delivery)
    part = Decoration(method=method, job=job, bought=bought)
    quoted = quote([part], run, rules, currency)
    return CostReport(
        currency=currency,
        pieces=run.pieces,
        prints=job.prints,
        copies_per_sheet=bought.copies_per_sheet,
        sheets_needed=bought.needed if bought.copies_per_sheet else None,
        sheets_bought=bought.bought if bought.copies_per_sheet else None,
        decoration=bought.total,
        total=quoted.cost,
        per_piece=round_money(quoted.cost / run.pieces, currency),
        price_total=quoted.price,
        price_per_piece=quoted.price_per_piece,
        unit=bought.unit,
        needed=bought.needed,
        bought=bought.bought,
        spare_copies=bought.spare_copies,
        saving=bought.saving,
        lines=quoted.lines,
        notes=bought.notes,
    )


def quote(parts: Sequence[Decoration], run: Run, rules: PriceRules, currency: str) -> QuoteReport:
    """The whole order: every print's transfers, each supplier's freight once, shared lines once.

    More of one print is bought where that makes a supplier's delivery free for less.
    """
    money = money_of(rules, currency)
    parts = arrived_together(parts, rules, money)
    lines = (
        *(_named(line, part.words) for part in parts for line in part.bought.lines),
        *_freight_lines(parts, rules, money),
        *_work_lines(presses(parts, run, rules), run, rules, money),
    )
    cost = sum((line.amount for line in lines), Decimal(0))
    price = price_of(cost, rules, currency)
    if run.rush:
        price = round_money(price * (1 + rules.rush_share), currency)
    return QuoteReport(
        currency=currency,
        pieces=run.pieces,
        cost=cost,
        price=price,
        price_per_piece=round_money(price / run.pieces, currency),
        lines=lines,
        spares=run.spares,
        notes=tuple(note for part in parts for note in part.bought.notes),
    )


def arrived_together(
    parts: Sequence[Decoration], rules: PriceRules, money: Money
) -> tuple[Decoration, ...]:
    """The prints bought anew where the goods of one supplier, taken together, decide.

    One print at a time is bought up to a free delivery, so the goods lie above its threshold by
    less than one unit (or at a break).
    """
    chosen = tuple(parts)
    for name in _suppliers(parts):
        delivery = delivery_of(name, rules)
        own = [n for n, part in enumerate(parts) if part.method.supplier == name]
        if delivery.free_from is None:
            continue
        plain = _rebought(chosen, {n: _alone(chosen[n], money) for n in own})
        options = [plain]
        for n in own:
            other = goods_of(plain, name) - plain[n].bought.total
            part = plain[n]
            more = purchase(part.method.price, part.job, money, delivery.beside(other))
            options.append(_rebought(plain, {n: more}))
        chosen = min(options, key=lambda option: delivery.landed(goods_of(option, name)))
    return chosen


def _alone(part: Decoration, money: Money) -> Purchase:
    """The print's cheapest goods, whatever their delivery costs."""
    return purchase(part.method.price, part.job, money, FREE)


def _rebought(parts: Sequence[Decoration], bought: dict[int, Purchase]) -> tuple[Decoration, ...]:
    return tuple(
        replace(part, bought=bought[n]) if n in bought else part for n, part in enumerate(parts)
    )


def _suppliers(parts: Sequence[Decoration]) -> list[str]:
    return sorted({p.method.supplier for p in parts if p.method.supplier is not None})


def goods_of(parts: Sequence[Decoration], supplier: str) -> Decimal:
    """What is bought from one supplier."""
    amounts = (p.bought.total for p in parts if p.method.supplier == supplier)
    return sum(amounts, Decimal(0))


def presses(parts: Sequence[Decoration], run: Run, rules: PriceRules) -> int:
    """How often the press closes: each print on every garment that carries it, spares within."""
    return sum(pressed(part, run, rules) for part in parts)


def pressed(part: Decoration, run: Run, rules: PriceRules) -> int:
    """Garments that one print is pressed on, spares within."""
    return pieces_with_spares(part.pieces or run.pieces, rules.spares)


def garments(run: Run, rules: PriceRules) -> int:
    """Blanks to buy, spares within."""
    if run.spares:
        return run.pieces + sum(size.spares for size in run.spares)
    return pieces_with_spares(run.pieces, rules.spares)


def price_of(cost: Decimal, rules: PriceRules, currency: str) -> Decimal:
    """Cost to price by the shop's margin (of the price) or mark-up (on the cost).

    >>> rules.margin, price_of(Decimal("172.75"), rules, "USD")      # doctest: +SKIP
    (Decimal('0.50'), Decimal('345.50'))
    """
    if rules.margin is not None:
        return round_money(cost / (1 - rules.margin), currency)
    assert rules.mark_up is not None
    return round_money(cost * (1 + rules.mark_up), currency)


def art_time(minutes: int, rules: PriceRules) -> Decimal:
    """Hours charged for ``minutes`` of art work, in the shop's steps rounded up."""
    steps = -(-minutes // rules.art_step_minutes)
    return Decimal(steps * rules.art_step_minutes) / MINUTES_PER_HOUR


def _named(line: CostLine, words: str) -> CostLine:
    return line.model_copy(update={"what": f"{words}: {line.what}"}) if words else line


def _freight_lines(
    parts: Sequence[Decoration], rules: PriceRules, money: Money
) -> Iterator[CostLine]:
    for name in _suppliers(parts):
        delivery, goods = delivery_of(name, rules), goods_of(parts, name)
        missing, freight = delivery.filled_up(goods), delivery.charged(goods)
        if missing:
            yield money.line(f"least order, {name}", 1, missing)
        if freight or delivery.freight:
            free = "" if freight else f": free from {delivery.free_from}"
            yield money.line(f"freight, {name}{free}", 1, freight)


def _work_lines(presses: int, run: Run, rules: PriceRules, money: Money) -> tuple[CostLine, ...]:
    lines = [money.line("press labour", presses, rules.labour_per_press)]
    if run.blank is not None:
        lines.append(money.line(run.blank_words, garments(run, rules), run.blank))
    if run.art_minutes:
        lines.append(
            money.line("art time, hours", art_time(run.art_minutes, rules), rules.art_per_hour)
        )
    return tuple(lines)
