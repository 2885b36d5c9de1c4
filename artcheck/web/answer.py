"""An order and its measurements become the parts of the page. No pixels are touched."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from artcheck.domain.check import OrderReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.pipeline import cost_curves, evaluate_order
from artcheck.report import words
from artcheck.report.charts import Curve, cost_chart
from artcheck.report.overlays import MARKED_BY, Mark, MarkKind, marks_of
from artcheck.report.page import environment, print_view
from artcheck.report.pictures import Picture, Place, place_in
from artcheck.web.choice import choice_of
from artcheck.web.worker import Seen

MOST_NAME = 120
"""Characters of a file's name that are shown: a name is for people."""

PLURAL: dict[MarkKind, str] = {
    "thin line": "thin lines",
    "narrow gap": "narrow gaps",
    "speck": "specks",
    "fade": "fades",
    "soft rim": "soft rims",
    "design": "separate designs",
}


@dataclass(frozen=True, slots=True)
class Layer:
    """Marks of one kind, to be switched on together."""

    kind: MarkKind
    places: tuple[Place, ...]

    @property
    def words(self) -> str:
        """What the switch says."""
        count = len(self.places)
        return f"{count} {self.kind if count == 1 else PLURAL[self.kind]}"


def shown_name(name: str) -> str:
    """A stranger's file name made harmless to show: no folders, no control characters."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return words.plain(last).strip()[:MOST_NAME] or "art"


def order_report(order: Order, seen: Sequence[Seen], shop: Shop) -> OrderReport:
    """`evaluate_order` on what is held, each print's art under the name the order gives it."""
    return evaluate_order(named(order, seen), order, shop)


def named(order: Order, seen: Sequence[Seen]) -> tuple[Measurements, ...]:
    """What was measured, under the names that the order gives."""
    return tuple(
        one.measured.model_copy(update={"file": print_.art})
        for print_, one in zip(order.prints, seen, strict=True)
    )


def answer(order: Order, seen: Sequence[Seen], shop: Shop, shown: int) -> dict[str, Any]:
    """The page's parts for one order; ``shown`` is the print whose art and methods are seen."""
    whole = order_report(order, seen, shop)
    report, art = whole.prints[shown], seen[shown]
    view = print_view(report, art.picture, "p")
    facts = {
        "order": whole,
        "view": view,
        "report": report,
        "several": len(whole.prints) > 1,
        "chart": chart(order, art.measured, shop, report, shown),
        "layers": {layer.kind: layer for layer in layers(art, report)},
        "kinds": MARKED_BY,
        "fixed": order.prints[shown].method,
        "platen": shop.equipment.platen_in,
        "choice": choice_of(report, shop),
        "shape": (art.picture.width_px, art.picture.height_px),
        "currency": shop.currency,
    }
    parts = ("answer", "marks", "switches", "scale", "beside", "below", "choice", "after")
    return {
        "parts": {part: render(f"{part}.html", **facts) for part in parts},
        "cloth": view.garment_hex,
        "width_in": round(report.printed.width_in, 3),
        "height_in": round(report.printed.height_in, 3),
        "headlines": [one.recommendation.headline for one in whole.prints],
        "methods": methods_of(whole),
    }


def methods_of(whole: OrderReport) -> list[str | None]:
    """The method recommended for each print, by its id."""
    return [one.recommendation.method for one in whole.prints]


def layers(art: Seen, report: Report) -> Iterator[Layer]:
    """Marks by kind, as places in the picture."""
    marks = sorted(marks_of(art.measured, report), key=lambda mark: mark.kind)
    for kind, alike in groupby(marks, key=lambda mark: mark.kind):
        places = tuple(_places(art, alike))
        if places:
            yield Layer(kind, places)


def _places(art: Seen, marks: Iterator[Mark]) -> Iterator[Place]:
    for mark in marks:
        place = place_in(art.picture.frame, mark.where)
        if place is not None:
            yield _around(place, art.picture)


MARK_MARGIN = 0.006
"""Room between a mark's outline and what it marks, as a share of the picture's width: about the
outline's own thickness on a desk's screen, so it hides nothing of the art."""


def _around(place: Place, picture: Picture) -> Place:
    x = 100 * MARK_MARGIN
    y = x * picture.width_px / picture.height_px
    return Place(
        left=round(place.left - x, 3),
        top=round(place.top - y, 3),
        width=round(place.width + 2 * x, 3),
        height=round(place.height + 2 * y, 3),
    )


CHART_FROM = 4
"""Fewest pieces drawn: below, minimum orders make a piece so dear that the rest lies flat."""


def chart(order: Order, measured: Measurements, shop: Shop, report: Report, index: int) -> str:
    """Transfers with freight a piece, by quantity and method; empty where fewer than two suit."""
    curves = cost_curves(measured, order, shop, report, index=index)
    if len(curves) < 2:
        return ""
    answer_, names = report.recommendation, words.method_names(report)
    last_flip = answer_.flips[-1].from_quantity if answer_.flips else 1
    top = _chart_top(max(last_flip, report.garment.pieces or 1), min(map(len, curves.values())))
    return cost_chart(
        [
            Curve(
                names[method],
                tuple((n, float(totals[n - 1]) / n) for n in range(CHART_FROM, top + 1)),
                chosen=method == answer_.method,
            )
            for method, totals in curves.items()
        ],
        what=f"transfers and freight a piece, {shop.currency}",
        pieces=report.garment.pieces,
        close_call=answer_.close_call,
    )


def _chart_top(needed: int, most: int) -> int:
    """The largest quantity drawn: a round one with room beyond the order and the last flip."""
    return min(
        next((top for top in (100, 200, 500, 1_000, 2_000) if top >= 1.5 * needed), most), most
    )


def render(template: str, **facts: Any) -> str:
    """One part of the page."""
    return environment("artcheck.web").get_template(template).render(**facts)
