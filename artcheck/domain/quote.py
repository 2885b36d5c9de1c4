"""The quote: what the customer is asked to pay and what is promised, as its papers state it.

Money as decimal strings. None and empty texts are what the shop or the order does not say: papers
leave a blank line there, and ``missing`` names them. What the shop pays stands in its report alone:
a quote may be sent on as it is. The keys are a promise; see docs/report.md.
"""

import datetime as dt
from typing import Annotated

from pydantic import PlainSerializer

from artcheck.domain.base import Record, Share
from artcheck.domain.check import GarmentReport, MoneyText
from artcheck.domain.order import SizeRun

QUOTE_SCHEMA_VERSION = "2.0"
"""Of the quote alone; raised as the report's own."""


DateText = Annotated[dt.date, PlainSerializer(dt.date.isoformat, return_type=str)]
"""A day as ISO 8601 writes it: 2026-11-26."""


class PriceLine(Record):
    """What the customer pays for. ``pieces`` is None for work that is not counted by the piece."""

    what: str
    pieces: int | None
    amount: MoneyText


class QuotedGarment(Record):
    """One garment of the order; ``included``: its price is in the quote's."""

    name: str
    garment: GarmentReport
    included: bool
    supplied: bool
    sizes: tuple[SizeRun, ...]


class QuotedPrint(Record):
    """One print of the order by the method that the price is for.

    ``garment`` names the one of several that carries it, ``sizes`` the garment sizes; empty: all.
    """

    art: str
    placement: str | None
    garment: str = ""
    sizes: tuple[str, ...] = ()
    width_in: float
    height_in: float
    method: str
    method_name: str


class QuoteAlternative(Record):
    """The whole order by another method: its price, and what the customer must accept for it."""

    method: str
    method_name: str
    price: MoneyText
    price_per_piece: MoneyText
    accepts: tuple[str, ...]


class OrderQuote(Record):
    """One quote. ``price`` is the sum of the lines; ``deposit`` and ``balance`` make it up.

    ``garments`` holds each kind of garment. ``garment`` and ``sizes`` are those of an order of one
    kind; of several, ``garment`` names the kinds and ``sizes`` is empty.
    """

    schema_version: str = QUOTE_SCHEMA_VERSION
    artcheck_version: str
    shop: str
    demo_prices: bool
    number: str
    date: DateText | None
    valid_days: int | None
    valid_until: DateText | None
    order: str
    customer: str
    needed_by: DateText | None
    rush: bool
    garment: GarmentReport
    garments_included: bool
    garments_supplied: bool
    sizes: tuple[SizeRun, ...]
    garments: tuple[QuotedGarment, ...]
    pieces: int
    prints: tuple[QuotedPrint, ...]
    currency: str
    lines: tuple[PriceLine, ...]
    price: MoneyText
    price_per_piece: MoneyText
    deposit_share: Share | None
    deposit: MoneyText | None
    balance: MoneyText | None
    turnaround: str
    tax_line: str
    terms: tuple[str, ...]
    alternatives: tuple[QuoteAlternative, ...]
    to_settle: tuple[str, ...]
    missing: tuple[str, ...]
