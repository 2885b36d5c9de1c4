"""The art of a gang: each design made as a separation makes it, by the method of the gang."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.artwork import Cutout
from artcheck.domain.check import OrderReport
from artcheck.domain.gang import GangLayout
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order, Print
from artcheck.domain.prices import PerSheet
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.separation import InkPlan, Loss, SpotInk
from artcheck.domain.shop import Method, Shop, SmallPrint
from artcheck.pipeline.art import cutout_and_fades, cutout_of, drawn_at, opened
from artcheck.pipeline.ganging import Gang, design_names
from artcheck.pipeline.ink_choice import target_of
from artcheck.pipeline.making import film_of, separated_into, trapped_plates
from artcheck.pipeline.plates import printed_inks
from artcheck.pipeline.setting import setting_of
from artcheck.pipeline.work import Work
from artcheck.pricing.gangs import GangSheet
from artcheck.separation.film import Film, FilmSettings, make_film
from artcheck.separation.plates import Plate, PlateSettings, make_plates

DesignArt = Film | tuple[Plate, ...]

_NO_LOSS = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class GangPage:
    """One layout to draw: its file's name without suffix, and each design's art by its name."""

    name: str
    layout: GangLayout
    sheet: GangSheet
    arts: Mapping[str, DesignArt]


class GangArt:
    """The art of an order's prints and of the shop's small prints; each file is read once."""

    def __init__(
        self,
        measured: Sequence[Measurements],
        order: Order,
        checked: OrderReport,
        shop: Shop,
    ) -> None:
        self._measured, self._order, self._checked, self._shop = measured, order, checked, shop
        self._names = design_names([print_.art for print_ in order.prints])
        read: dict[tuple[str, str, int], tuple[Cutout, NDArray[np.bool_]]] = {}
        self._read = {}
        for name, print_, art in zip(self._names, order.prints, measured, strict=True):
            key = print_.art, print_.background, print_.page
            if key not in read:
                read[key] = cutout_and_fades(opened(print_), art.tone)
            self._read[name] = read[key]
        self._small = {
            small.name: cutout_of(opened(Print(art=small.art)))
            for small in shop.small_prints
            if small.art is not None
        }

    @property
    def cutouts(self) -> dict[str, Cutout]:
        """Each design's art freed from its background, by its name."""
        return {name: cutout for name, (cutout, _) in self._read.items()} | self._small

    def pages(self, gang: Gang) -> Iterator[GangPage]:
        """Every layout of one method with its art.

        Raises
        ------
        UsageError, NothingToPrintError
            A design has nothing that this method prints.
        """
        method = self._shop.method(gang.report.id)
        placed = {place.design.name for laid in gang.laid for place in laid.sheet.placements}
        arts = {
            name: self._made(number, method)
            for number, name in enumerate(self._names)
            if name in placed
        }
        for number, (laid, layout) in enumerate(
            zip(gang.laid, gang.report.layouts, strict=True), 1
        ):
            small = dict(self._small_arts(laid.sheet, arts, method))
            name = f"{method.id}-{number}"
            yield GangPage(name=name, layout=layout, sheet=laid.sheet, arts=arts | small)

    def _made(self, index: int, method: Method) -> DesignArt:
        """One print as the method prints it."""
        work = self._work(index, method)
        if not isinstance(method.price, PerSheet):
            return film_of(work)
        plan = _plan(work)
        return trapped_plates(work, separated_into(work, plan)).plates

    def _work(self, index: int, method: Method) -> Work:
        measured, print_ = self._measured[index], self._order.prints[index]
        cutout, fades = self._read[self._names[index]]
        setting = setting_of(measured, self._order, self._shop, index)
        if measured.kind == "vector":
            cutout = drawn_at(print_, cutout, setting.sized.width_in, method.output_ppi)
        return Work(
            measured=measured,
            cutout=cutout,
            setting=setting,
            report=self._checked.prints[index],
            method=method,
            options=SeparationOptions(),
            fades=fades,
        )

    def _small_arts(
        self, sheet: GangSheet, arts: Mapping[str, DesignArt], method: Method
    ) -> Iterator[tuple[str, DesignArt]]:
        """The small prints on one sheet, in the named inks, else in one that the sheet has."""
        placed = {place.design.name for place in sheet.placements}
        plates = [plate for art in arts.values() if not isinstance(art, Film) for plate in art]
        inks = {plate.name: plate for plate in plates if plate.name in sheet.inks}
        for small in self._shop.small_prints:
            if small.name not in placed or small.name not in self._small:
                continue
            cutout = self._small[small.name]
            if not isinstance(method.price, PerSheet):
                settings = FilmSettings(
                    ppi=method.output_ppi, width_in=small.width_in, choke_pt=method.choke_pt
                )
                yield small.name, make_film(cutout, settings)
            elif inks:
                names = small.inks or (min(inks),)
                yield small.name, _small_plates(cutout, small, [inks[n] for n in names], method)


def _plan(work: Work) -> InkPlan:
    """The inks that the gang was priced with, by the names of its plates."""
    planned = []
    for name, ink in printed_inks(work.report.inks.list):
        stock = ink.stock if ink.plan == "stock" else None
        lab = stock.lab if stock and stock.lab else target_of(ink, work.setting.brands)
        planned.append(SpotInk(name=name, hex=lab_to_hex(lab), lab=lab, stock=stock is not None))
    return InkPlan(inks=tuple(planned), loss=_NO_LOSS, locked=())


def _small_plates(
    cutout: Cutout, small: SmallPrint, inks: Sequence[Plate], method: Method
) -> tuple[Plate, ...]:
    from artcheck.separation.regions import separate_regions

    planned = tuple(
        SpotInk(name=ink.name, hex=ink.hex, lab=ink.lab, stock=ink.stock) for ink in inks
    )
    separated = separate_regions(
        cutout,
        InkPlan(inks=planned, loss=_NO_LOSS, locked=()),
        ppi=method.output_ppi,
        width_in=small.width_in,
        garment_lab=None,
    )
    return make_plates(separated, PlateSettings(trap_pt=method.trap_pt)).plates
