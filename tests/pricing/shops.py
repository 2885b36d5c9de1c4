"""The packaged demo shop and shorthand for its methods."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from artcheck.domain.shop import Method, Shop
from artcheck.pricing.job import Job, Money
from artcheck.pricing.purchase import Purchase, purchase
from artcheck.pricing.quote import pieces_with_spares
from artcheck.shop import load_shop

SHOP: Shop = load_shop()
MONEY = Money("USD", SHOP.prices.rounding)

EXPECTED: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "data" / "demo_expected.json").read_text(encoding="utf-8")
)
"""Figures of the invented print room, worked out by a separate program."""


def method(method_id: str) -> Method:
    return SHOP.method(method_id)


def job(pieces: int, width_in: float, height_in: float, inks: int = 1, mixed: int = 0) -> Job:
    """A job of ``pieces`` finished pieces with the shop's spares."""
    prints = pieces_with_spares(pieces, SHOP.prices.spares)
    return Job(prints=prints, width_in=width_in, height_in=height_in, inks=inks, mixed=mixed)


def buy(method_id: str, wanted: Job) -> Purchase:
    return purchase(method(method_id).price, wanted, MONEY)


def usd(text: str | int) -> Decimal:
    return Decimal(str(text))
