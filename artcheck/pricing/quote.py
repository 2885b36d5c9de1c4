"""From decoration to the price of an order: blanks, press labour, freight, art time, margin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from artcheck.domain.check import BoughtTogether, CostLine, CostReport, QuoteReport, SizeSpares
from artcheck.domain.prices import PerRoll
from artcheck.domain.shop import Method, PriceRules, Spares
from artcheck.pricing.delivery import delivery_of
from artcheck.pricing.job import Job, Money
from artcheck.pricing.lots import Decoration, arrived_together, goods_of, lots_of, suppliers_of
from artcheck.pricing.purchase import purchase
from artcheck.pricing.shared import Sharing
from artcheck.units import round_money

__all__ = [
    "Blanks",
    "Decoration",
    "Run",
    "Sharing",
    "arrived_together",
    "art_time",
    "goods_of",
    "method_cost",
    "money_of",
    "pieces_with_spares",
    "pressed",
    "price_of",
    "prints_of",
    "quote",
    "together_words",
    "what_is_bought",
]

MINUTES_PER_HOUR = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Blanks:
    """Garments of one kind.

    ``price`` is that of one, None where the shop does not supply it or where its kind is unknown
    (then no line stands for it). ``spares`` are the spare garments by size.
    """

    pieces: int
    price: Decimal | None = None
    words: str = "blank garments"
    spares: tuple[SizeSpares, ...] = ()

    def to_buy(self, rules: PriceRules) -> int:
        """Spares within."""
        if self.spares:
            return self.pieces + sum(size.spares for size in self.spares)
        return pieces_with_spares(self.pieces, rules.spares)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What pricing needs to know of an order beside the designs.

    ``blank`` and ``spares`` are those of an order of one garment, ``several`` holds the garments of
    an order of more.
    """

    pieces: int
    spares: tuple[SizeSpares, ...] = ()
    blank: Decimal | None = None
    blank_words: str = "blank garments"
    several: tuple[Blanks, ...] = ()
    art_minutes: int = 0
    rush: bool = False

    @property
    def blanks(self) -> tuple[Blanks, ...]:
        """The garments, one entry for each kind."""
        one = Blanks(
            pieces=self.pieces, price=self.blank, words=self.blank_words, spares=self.spares
        )
        return self.several or (one,)


def pieces_with_spares(pieces: int, spares: Spares) -> int:
    """Finished pieces plus spares: the share rounded up, at least the least.

    >>> pieces_with_spares(34, Spares(share=0.03, least=1))
    36
    """
    share, whole = _exactly(spares.share)
    return pieces + max(spares.least, -(-pieces * share // whole))


def prints_by_quantity(most: int, spares: Spares, *, each_different: bool) -> tuple[int, ...]:
    """`prints_of` for 1, 2 ... ``most`` pieces."""
    pieces = range(1, most + 1)
    if each_different:
        return tuple(pieces)
    share, whole = _exactly(spares.share)
    least = spares.least
    return tuple([n + max(least, -(-n * share // whole)) for n in pieces])


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


def quote(
    parts: Sequence[Decoration],
    run: Run,
    rules: PriceRules,
    currency: str,
    sharing: Sharing | None = None,
) -> QuoteReport:
    """The whole order: all transfers, each supplier's freight once, shared lines once.

    Prints of one design are bought together. More is bought where that makes a supplier's delivery
    free for less; with ``sharing`` designs share sheets where that costs less.
    """
    money = money_of(rules, currency)
    lots = what_is_bought(parts, rules, money, sharing)
    together = tuple(_together(lot, parts) for lot in lots if len(lot.places) > 1)
    lines = (
        *(_named(line, lot.name) for lot in lots for line in lot.bought.lines),
        *_freight_lines(lots, rules, money),
        *_work_lines([pressed(part, run, rules) for part in parts], run, rules, money),
    )
    cost = sum((line.amount for line in lines), Decimal(0))
    price = price_of(cost, rules, currency)
    if run.rush:
        price = round_money(price * (1 + rules.rush_share), currency)
    return QuoteReport(
        currency=currency,
        pieces=run.pieces,
        decoration=sum((lot.bought.total for lot in lots), Decimal(0)),
        cost=cost,
        price=price,
        price_per_piece=round_money(price / run.pieces, currency),
        lines=lines,
        spares=tuple(size for blanks in run.blanks for size in blanks.spares),
        together=together,
        notes=(*map(together_words, together), *_notes(lots)),
    )


def what_is_bought(
    parts: Sequence[Decoration], rules: PriceRules, money: Money, sharing: Sharing | None
) -> tuple[Decoration, ...]:
    """The prints as lots, each the way that lands cheapest."""
    if sharing is not None:
        return sharing.lots(parts, rules)
    return arrived_together(lots_of(parts, money), rules, money)


def _together(lot: Decoration, parts: Sequence[Decoration]) -> BoughtTogether:
    prints = [parts[place] for place in lot.places]
    roll = isinstance(lot.method.price, PerRoll)
    return BoughtTogether(
        prints=lot.places,
        names=tuple(part.name for part in prints),
        method=lot.method.id,
        how="one design" if not lot.as_it_is else "one roll" if roll else "shared sheets",
        cost=lot.bought.total,
        cost_apart=sum((part.bought.total for part in prints), Decimal(0)),
        lines=lot.bought.lines,
        layouts=lot.layouts,
    )


def together_words(together: BoughtTogether) -> str:
    """Which prints are bought as one, and what that saves."""
    what = _HOW[together.how]
    names = " + ".join(together.names)
    return f"{names} {what}: {together.cost} instead of {together.cost_apart} apart"


_HOW = {
    "one design": "are one design, bought at once",
    "shared sheets": "share sheets",
    "one roll": "share one length of roll",
}


def _notes(lots: Sequence[Decoration]) -> Iterator[str]:
    """What is worth knowing of each lot, with its name."""
    for lot in lots:
        yield from (f"{lot.name}: {note}" if lot.name else note for note in lot.bought.notes)


def pressed(part: Decoration, run: Run, rules: PriceRules) -> int:
    """Garments that one print is pressed on, spares within."""
    return pieces_with_spares(part.pieces or run.pieces, rules.spares)


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
    for name in suppliers_of(parts):
        delivery, goods = delivery_of(name, rules), goods_of(parts, name)
        missing, freight = delivery.filled_up(goods), delivery.charged(goods)
        if missing:
            yield money.line(f"least order, {name}", 1, missing)
        if freight or delivery.freight:
            free = "" if freight else f": free from {delivery.free_from}"
            yield money.line(f"freight, {name}{free}", 1, freight)


def _work_lines(
    pressed: Sequence[int], run: Run, rules: PriceRules, money: Money
) -> tuple[CostLine, ...]:
    """Labour for every print on every garment that carries it, the garments, art time."""
    how = f"{' + '.join(map(str, pressed))}, spares within" if len(pressed) > 1 else ""
    lines = [money.line("press labour", sum(pressed), rules.labour_per_press, how)]
    for blanks in run.blanks:
        if blanks.price is not None:
            count = blanks.to_buy(rules)
            how = f"{blanks.pieces} and {count - blanks.pieces} spare"
            lines.append(money.line(blanks.words, count, blanks.price, how))
    if run.art_minutes:
        lines.append(
            money.line("art time, hours", art_time(run.art_minutes, rules), rules.art_per_hour)
        )
    return tuple(lines)
