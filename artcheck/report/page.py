"""The report as one self-contained HTML file: no script, no second file, no request."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import TYPE_CHECKING, Any

from artcheck.colour.spaces import in_srgb, lab_to_hex
from artcheck.domain.base import Lab
from artcheck.domain.check import BrandColourReport, MethodReport, OrderReport, Report
from artcheck.report import words
from artcheck.report.ladder_words import ink_words, ladders
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX, Picture, Place, place_in
from artcheck.report.words import SharedFinding

if TYPE_CHECKING:
    import jinja2

TEMPLATE = "report.html"


def render_page(report: Report, pictures: Sequence[Picture | None] = ()) -> str:
    """One print's report as HTML; ``pictures`` holds its art, or nothing."""
    return _page(words.plain(report.recommendation.headline), (report,), pictures, order=None)


def render_order_page(order: OrderReport, pictures: Sequence[Picture | None] = ()) -> str:
    """An order's report as HTML; ``pictures`` holds one picture (or None) per print, in order."""
    title = words.plain(order.order) or "Order"
    return _page(title, order.prints, pictures, order=order)


def _page(
    title: str,
    reports: Sequence[Report],
    pictures: Sequence[Picture | None],
    order: OrderReport | None,
) -> str:
    shown = [*pictures, *[None] * (len(reports) - len(pictures))]
    prints = [
        print_view(r, p, f"p{n}") for n, (r, p) in enumerate(zip(reports, shown, strict=True), 1)
    ]
    several = len(prints) > 1
    return (
        environment()
        .get_template(TEMPLATE)
        .render(title=title, prints=prints, order=order, several=several)
    )


# --- what the template shows of one print -------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Item:
    """A finding, with the number and place of its mark in the picture where it has one."""

    shared: SharedFinding
    number: int | None
    place: Place | None


@dataclass(frozen=True, slots=True)
class PrintView:
    """One print: its report and what the page derives from it."""

    key: str
    report: Report
    picture: Picture | None
    chosen: MethodReport | None
    garment_hex: str
    own: tuple[Item, ...]
    others: tuple[Item, ...]
    designs: tuple[tuple[int, Place], ...]
    chart: Chart | None
    brands: tuple[BrandView, ...]

    @property
    def marked(self) -> tuple[Item, ...]:
        """The findings that have a place in the picture."""
        return tuple(item for item in (*self.own, *self.others) if item.place is not None)

    @property
    def before(self) -> tuple[Item, ...]:
        """What must be settled or changed before printing."""
        return tuple(item for item in self.own if item.shared.finding.severity != "note")

    @property
    def notes(self) -> tuple[Item, ...]:
        """What is merely good to know."""
        return tuple(item for item in self.own if item.shared.finding.severity == "note")


def print_view(report: Report, picture: Picture | None, key: str) -> PrintView:
    """What a page shows of one print; ``key`` starts the ids of its parts."""
    own, others = words.own_and_other_findings(report)
    items = tuple(_items((*own, *others), picture))
    return PrintView(
        key=key,
        report=report,
        picture=picture,
        chosen=words.chosen_method(report),
        garment_hex=report.garment.hex or UNKNOWN_GARMENT_HEX,
        own=items[: len(own)],
        others=items[len(own) :],
        designs=tuple(_designs(report, picture)),
        chart=chart_of(report),
        brands=tuple(map(_brand_view, report.brand_colours)),
    )


def _items(found: Sequence[SharedFinding], picture: Picture | None) -> Iterator[Item]:
    number = 0
    for shared in found:
        where = shared.finding.evidence.where
        place = place_in(picture.frame, where) if picture and where else None
        number += place is not None
        yield Item(shared, number if place else None, place)


def _designs(report: Report, picture: Picture | None) -> Iterator[tuple[int, Place]]:
    """The separate designs of a page under the numbers that findings call them by."""
    for number, group in enumerate(report.groups, 1):
        place = place_in(picture.frame, group.where) if picture else None
        if place is not None:
            yield number, place


# --- brand colours ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Pair:
    """What was asked for beside what comes: hex of both, who prints it, what is said of it."""

    asked: str
    comes: str
    how: str
    said: str
    clipped: bool


@dataclass(frozen=True, slots=True)
class BrandView:
    """A brand colour, what the file and a spot method make of it, and its pairs."""

    brand: BrandColourReport
    said: str
    pairs: tuple[Pair, ...]


def _brand_view(brand: BrandColourReport) -> BrandView:
    off = brand.art_delta_e_2000
    said = "in the customer's file" if brand.found_in_art else "not in the customer's file"
    if off is not None:
        said += f", {off:.1f} dE00 off" if brand.found_in_art else f" (nearest {off:.1f} dE00 off)"
    if brand.critical:
        said = f"must hold; {said}"
    return BrandView(brand, said, tuple(_pairs(brand)))


def _pairs(brand: BrandColourReport) -> Iterator[Pair]:
    target, like = brand.target_lab, brand.like_hue_delta_e_2000
    said = f"{brand.verdict}, {brand.delta_e_2000:.1f} dE00"
    yield _pair(target, brand.reachable_lab, "full-colour print", said)
    if brand.like_hue_lab is not None and like is not None:
        yield _pair(
            target, brand.like_hue_lab, "full-colour print of the same hue", f"{like:.1f} dE00"
        )
    ink = brand.nearest_ink
    if ink is not None and ink.lab is not None:
        how = "the shelf's nearest ink" if brand.plan == "stock" else "nearest ink, so mix instead"
        yield _pair(target, ink.lab, how, f"{ink.name}, {ink.delta_e_2000:.1f} dE00")


def _pair(asked: Lab, comes: Lab, how: str, said: str) -> Pair:
    shown = bool(in_srgb(asked)) and bool(in_srgb(comes))
    return Pair(lab_to_hex(asked), lab_to_hex(comes), how, said, clipped=not shown)


# --- cheapest by quantity -----------------------------------------------------------------------

CHART_TOPS = (100, 1_000, 10_000)
"""Largest quantity drawn: the first of these that leaves room beyond order and last flip."""

CHART_ROOM = 2
"""How far the chart goes beyond the order's quantity and the last flip, as a factor: on its
logarithmic scale a clear stretch of a third of a decade."""

LANE_PX = 44
AXIS_PX = 26


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of quantities, in percent of the chart's width."""

    x: float
    width: float
    words: str


@dataclass(frozen=True, slots=True)
class Lane:
    """One method's stretches; ``y`` in px."""

    name: str
    y: int
    bars: tuple[Bar, ...]
    chosen: bool


@dataclass(frozen=True, slots=True)
class Chart:
    """Who is cheapest at which quantity, on a logarithmic axis. x in percent, y in px."""

    lanes: tuple[Lane, ...]
    ticks: tuple[tuple[float, str], ...]
    close: Bar | None
    order_x: float | None
    height: int


def chart_of(report: Report) -> Chart | None:
    """The chart, or None where one method is cheapest at every quantity."""
    answer, pieces = report.recommendation, report.garment.pieces
    if len(answer.flips) < 2:
        return None
    last = answer.flips[-1].from_quantity
    needed = CHART_ROOM * max(last, pieces or 1)
    top = next((top for top in CHART_TOPS if top >= needed), CHART_TOPS[-1])
    lanes = _lanes(report, top)
    tick_values = [10**n for n in range(5) if 10**n <= top]
    inside = pieces is not None and pieces <= top
    return Chart(
        lanes=lanes,
        ticks=tuple((_x(value, top), f"{value:,}") for value in tick_values),
        close=_bar(*answer.close_call, top) if answer.close_call else None,
        order_x=_x(pieces + 0.5, top) if pieces is not None and inside else None,
        height=len(lanes) * LANE_PX,
    )


def _lanes(report: Report, top: int) -> tuple[Lane, ...]:
    answer, names = report.recommendation, words.method_names(report)
    flips = [flip for flip in answer.flips if flip.from_quantity <= top]
    return tuple(
        Lane(
            name=names.get(method, method),
            y=n * LANE_PX,
            bars=tuple(
                _bar(f.from_quantity, f.to_quantity, top) for f in flips if f.method == method
            ),
            chosen=method == answer.method,
        )
        for n, method in enumerate(dict.fromkeys(flip.method for flip in flips))
    )


def _bar(first: int, last: int, top: int) -> Bar:
    x, end = _x(first, top), _x(min(last, top) + 1, top)
    return Bar(x, round(end - x, 3), f"{first:,}" if first == last else f"{first:,}–{last:,}")


def _x(quantity: float, top: int) -> float:
    return round(100 * log(quantity) / log(top + 1), 3)


# --- the template engine ------------------------------------------------------------------------


@lru_cache(maxsize=2)
def environment(package: str = "artcheck.report") -> jinja2.Environment:
    """The engine for a package's templates: escaping, with the words and figures of reports.

    Other packages reach the report's own templates as ``report/NAME``.
    """
    import jinja2

    own = jinja2.PackageLoader(package)
    reports = jinja2.PrefixLoader({"report": jinja2.PackageLoader("artcheck.report")})
    environment = jinja2.Environment(
        loader=jinja2.ChoiceLoader([own, reports]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_harmless,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["words"] = words
    environment.globals["ladders"] = ladders
    environment.globals["ink_words"] = ink_words
    environment.filters["money"] = words.money
    environment.filters["percent"] = words.percent
    return environment


def _harmless(value: Any) -> Any:
    """Every text shown goes through `words.plain`, so that no name can turn the page around."""
    from markupsafe import Markup

    if isinstance(value, str) and not isinstance(value, Markup):
        return words.plain(value)
    return value
