"""What a request holds: a body within its budget, an order whose art is held."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fastapi import HTTPException, Request
from fastapi.responses import JSONResponse
from pydantic import TypeAdapter, ValidationError

from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.errors import OrderFileError
from artcheck.shop.faults import validated
from artcheck.web.answer import shown_name
from artcheck.web.bodies import body_of
from artcheck.web.desk import ArtKey, Desk
from artcheck.web.worker import Seen

MOST_ORDER_BYTES: Final = 512 * 1024
"""An order as JSON takes a few kilobytes."""

MOST_PRINTS: Final = 24
"""Prints of one order: the methods of all are weighed together."""


@dataclass(frozen=True, slots=True)
class Asked:
    """An order whose art is held and measured; ``wishes`` say how each print is separated."""

    order: Order
    seen: tuple[Seen, ...]
    digests: tuple[str, ...]
    shown: int
    wishes: tuple[SeparationOptions, ...]

    def showing(self, index: int) -> Asked:
        """The same order with another print in front."""
        return replace(self, shown=index)

    def by(self, methods: Sequence[str | None]) -> Asked:
        """The order with the methods that were weighed for all its prints together.

        One print alone is separated by its own recommendation.
        """
        if len(methods) == 1:
            return self
        prints = tuple(
            print_.model_copy(update={"method": method})
            for print_, method in zip(self.order.prints, methods, strict=True)
        )
        return replace(self, order=self.order.model_copy(update={"prints": prints}))


async def asked_of(request: Request, desk: Desk) -> Asked:
    """A request's body as an order whose art is held.

    Raises
    ------
    OrderFileError
        The order has faults; all are told.
    HTTPException
        400: it is no order at all. 404: its art is not held. 413: it is too large.
    """
    body = await body_of(request, MOST_ORDER_BYTES, "The order")
    try:
        data = json.loads(body)
        arts = TypeAdapter(list[str]).validate_python(data["arts"])
        shown = TypeAdapter(int).validate_python(data.get("shown", 0))
        order_data = dict(data["order"])
        wanted = [dict(one) for one in data.get("separations", [{}] * len(arts))]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, ValidationError):
        raise HTTPException(400, "This is no order.") from None
    order = validated(Order, order_data, "the order", OrderFileError)
    counts = {len(arts), len(order.prints), len(wanted)}
    if len(counts) > 1 or len(arts) > MOST_PRINTS or not 0 <= shown < len(arts):
        raise HTTPException(400, f"An order has 1 to {MOST_PRINTS} prints, a file for each.")
    wishes = tuple(
        validated(SeparationOptions, one, "the separation", OrderFileError) for one in wanted
    )
    prints = tuple(p.model_copy(update={"art": shown_name(p.art)}) for p in order.prints)
    keys = [ArtKey(d, p.background, p.page) for d, p in zip(arts, prints, strict=True)]
    seen = [one for key in keys if (one := desk.seen(key)) is not None]
    if len(seen) < len(keys):
        raise HTTPException(404, "A file of this order is not measured yet, or no longer held.")
    order = order.model_copy(update={"prints": prints})
    return Asked(order, tuple(seen), tuple(arts), shown, wishes)


def fault(words: str, status: int) -> JSONResponse:
    """A refusal in plain words."""
    return JSONResponse({"faults": [words]}, status)
