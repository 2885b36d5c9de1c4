"""What an order means in this shop: everything that must be looked up, looked up once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial

from artcheck.colour.print_model import PrintModel
from artcheck.colour.reach import Reach, nearest_reachable
from artcheck.domain.base import Lab
from artcheck.domain.check import BrandColourReport, InkReport
from artcheck.domain.measurements import Measurements, Sized
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.shop import Fabric, GarmentStock, Placement, Shop
from artcheck.judge import Cloth
from artcheck.matching import (
    GarmentLook,
    asked_inks,
    garment_look,
    match_brand_colours,
    match_inks,
)
from artcheck.shop.print_condition import load_print_model

ASSUMED_WIDTH_IN = 11.0
"""Width of an adult front print, assumed where neither order, place nor file gives one."""

LIKELY_SIZE_IN = (1.0, 24.0)
"""A file's own size is believed as the print's where its width lies in this range."""


@dataclass(frozen=True, kw_only=True)  # no slots: `inks` is kept in the instance
class Setting:
    """What an order means in this shop: everything looked up once."""

    shop: Shop
    order: Order
    print_: Print
    sized: Sized
    garment: GarmentLook | None
    fabric: Fabric | None
    blank: GarmentStock | None
    placement: Placement | None
    brands: tuple[BrandColourReport, ...]
    reach: Callable[[Lab], Reach]
    print_warnings: tuple[str, ...] = ()

    @cached_property
    def inks(self) -> tuple[InkReport, ...]:
        """The inks to print: those the order asks for, else the art's own."""
        if self.print_.inks:
            return asked_inks(self.print_.inks, self.sized, self.shop, self.garment)
        return match_inks(self.sized, self.shop, self.garment, self.brands, self.reach)

    @property
    def cloth(self) -> Cloth:
        """The garment as the rules look at it."""
        garment = self.order.garment
        return Cloth(
            fabric=self.fabric,
            colour_name=self.garment.name if self.garment else None,
            colour=self.garment.lab if self.garment else None,
            care_dots=garment.care_dots,
            children=garment.children,
            unpriced=None if self.blank or garment.supplied else _garment_words(garment),
        )


def setting_of(measured: Measurements, order: Order, shop: Shop, index: int) -> Setting:
    """Look everything up for one print of an order.

    Raises
    ------
    ColourError
        A colour text or the print condition cannot be used.
    """
    order = order.carrying(index)
    print_, garment = order.prints[index], order.garment
    placement = _placement(print_, shop)
    sized = measured.at(print_width_in(print_, measured, placement))
    look = garment_look(garment.colour, shop.garment_colours) if garment.colour else None
    model = load_print_model(shop.print_condition)
    reach = _reach(model, shop)
    brands = match_brand_colours(print_.brand_colours, sized, shop, reach, model.description)
    return Setting(
        shop=shop,
        order=order,
        print_=print_,
        sized=sized,
        garment=look,
        fabric=_fabric(order, shop),
        blank=blank_of(order, shop),
        placement=placement,
        brands=brands,
        reach=reach,
        print_warnings=model.warnings,
    )


def print_width_in(print_: Print, measured: Measurements, placement: Placement | None) -> float:
    """The print's width: told, by its height, usual for the place, the file's own, assumed."""
    width_px, height_px = measured.box_size_px
    if print_.width_in is not None:
        return print_.width_in
    if print_.height_in is not None:
        return print_.height_in * width_px / height_px
    if placement is not None:
        return placement.usual_width_in
    own = width_px / measured.resolution_ppi if measured.resolution_ppi else None
    if own is not None and LIKELY_SIZE_IN[0] <= own <= LIKELY_SIZE_IN[1]:
        return own
    return ASSUMED_WIDTH_IN


def _reach(model: PrintModel, shop: Shop) -> Callable[[Lab], Reach]:
    return partial(_cached_reach, model=model, limit=shop.print_condition.total_ink_limit)


@lru_cache(maxsize=4096)
def _cached_reach(lab: Lab, model: PrintModel, limit: float | None) -> Reach:
    return nearest_reachable(lab, model, limit)


def _placement(print_: Print, shop: Shop) -> Placement | None:
    wanted = (print_.placement or "").strip().lower()
    return next((p for p in shop.placements if p.name.lower() == wanted), None)


def _fabric(order: Order, shop: Shop) -> Fabric | None:
    if order.garment.fabric:
        return shop.fabric(order.garment.fabric)
    blank = blank_of(order, shop)
    return shop.fabric(blank.fabric) if blank else None


def _garment_words(garment: Garment) -> str | None:
    """What to call it: None for a garment of which not even the kind is told."""
    return None if garment.kind is None else " ".join(filter(None, (garment.fabric, garment.kind)))


def blank_of(order: Order, shop: Shop) -> GarmentStock | None:
    """The shop's garment of the order's kind, and of its fabric where that is told."""
    garment = order.garment
    if garment.kind is None:
        return None
    kind = [g for g in shop.garments if g.kind.lower() == garment.kind.strip().lower()]
    fabric = shop.fabric(garment.fabric) if garment.fabric else None
    if garment.fabric:
        kind = [g for g in kind if fabric and shop.fabric(g.fabric) == fabric]
    return kind[0] if kind else None
