"""What the rules look at: this art at this size, on this garment, by this method."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.domain.base import Box, Lab
from artcheck.domain.check import BrandColourReport, ContrastReport, InkReport
from artcheck.domain.findings import Evidence
from artcheck.domain.measurements import Sized
from artcheck.domain.shop import (
    Equipment,
    Fabric,
    Limit,
    Limits,
    Method,
    Placement,
    StockInk,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cloth:
    """The garment as far as it is known; None for what the order does not say.

    ``unpriced`` names a garment that the shop supplies and has no price for.
    """

    fabric: Fabric | None = None
    colour_name: str | None = None
    colour: Lab | None = None
    care_dots: int | None = None
    children: bool | None = None
    unpriced: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Everything that decides whether one print suits one method.

    ``inks`` are the inks as they would be printed, ``ink_count`` how many plates a spot method
    makes of them (None for a photograph).
    """

    sized: Sized
    limits: Limits
    inks: tuple[InkReport, ...]
    ink_count: int | None
    brands: tuple[BrandColourReport, ...]
    contrast: tuple[ContrastReport, ...]
    cloth: Cloth
    placement: Placement | None = None
    each_different: bool = False
    inks_asked: tuple[str, ...] = ()
    equipment: Equipment
    stock: tuple[StockInk, ...] = ()
    print_warnings: tuple[str, ...] = ()


def against(
    measured: float | str | None,
    limit: Limit,
    threshold: float | str | None,
    where: Box | None = None,
) -> Evidence:
    """Evidence that names its limit and where it came from."""
    value = round(measured, 3) if isinstance(measured, float) else measured
    return Evidence(
        measured=value, limit=threshold, unit=limit.unit, limit_source=limit.source, where=where
    )


def fact(measured: float | str | None, unit: str, source: str) -> Evidence:
    """Evidence of something that has no limit: met or not."""
    return Evidence(measured=measured, limit=None, unit=unit, limit_source=source)


def is_spot_like(method: Method) -> bool:
    """Printed or cut in solid inks: spot transfers, direct screen printing, cut film."""
    return method.family != "full_colour"
