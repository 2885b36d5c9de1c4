"""What a customer ordered: garments, prints on them, dates."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Self

from pydantic import Field, model_validator

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.base import Record

MOST_PIECES = 1_000_000
"""Largest quantity that is taken seriously: beyond it a typing error is likelier than an order."""

SMALLEST_PRINT_IN, LARGEST_PRINT_IN = 0.1, 200.0
"""Sides of a print in inches that are taken seriously: outside lies a wrong unit."""

Quantity = Annotated[int, Field(ge=1, le=MOST_PIECES)]


class BrandColour(Record):
    """A colour that the customer names; ``critical`` when it decides the method."""

    name: Annotated[str, Field(min_length=1)]
    colour: Annotated[str, Field(min_length=1)]
    critical: bool = False


class SizeRun(Record):
    """Pieces of one garment size."""

    size: Annotated[str, Field(min_length=1)]
    quantity: Quantity
    youth: bool = False


class Garment(Record):
    """A garment of the order. ``colour`` is a garment colour of the shop or any colour text.

    ``care_dots`` are the dots in the ironing symbol of its care label (ISO 3758:2012): 0 stands
    for "do not iron". ``supplied`` garments are the customer's own and cost the shop nothing.
    """

    kind: str | None = None
    colour: str | None = None
    fabric: str | None = None
    care_dots: Annotated[int, Field(ge=0, le=3)] | None = None
    sizes: tuple[SizeRun, ...] = ()
    quantity: Quantity | None = None
    for_children: bool | None = None
    supplied: bool = False

    @model_validator(mode="after")
    def _counted_once(self) -> Self:
        if (
            self.sizes
            and self.quantity is not None
            and self.quantity != sum(s.quantity for s in self.sizes)
        ):
            raise ValueError("quantity and the sum of sizes differ: give one of the two")
        return self

    @property
    def pieces(self) -> int | None:
        """Finished pieces, from the sizes or the plain quantity; None when not told."""
        return sum(s.quantity for s in self.sizes) if self.sizes else self.quantity

    @property
    def children(self) -> bool | None:
        """Whether children wear it: as told, else from youth sizes, else unknown."""
        if self.for_children is not None:
            return self.for_children
        return True if any(s.youth for s in self.sizes) else None


class Print(Record):
    """One print: its art, size and place.

    Exactly one of ``width_in`` and ``height_in`` may be given; neither leaves the size open.
    ``each_different`` marks names and numbers: every piece carries its own design. ``inks`` asks
    for the art in these stock inks, whatever the file holds. ``sizes`` names the garment sizes that
    carry the print; none: all of them do.
    """

    art: str
    width_in: Annotated[float, Field(ge=SMALLEST_PRINT_IN, le=LARGEST_PRINT_IN)] | None = None
    height_in: Annotated[float, Field(ge=SMALLEST_PRINT_IN, le=LARGEST_PRINT_IN)] | None = None
    placement: str | None = None
    brand_colours: tuple[BrandColour, ...] = ()
    background: BackgroundChoice = "auto"
    page: Annotated[int, Field(ge=1)] = 1
    each_different: bool = False
    sizes: tuple[str, ...] = ()
    inks: tuple[str, ...] = ()
    art_minutes: Annotated[int, Field(ge=0)] = 0
    method: str | None = None

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.width_in is not None and self.height_in is not None:
            raise ValueError("give width_in or height_in, not both: the art keeps its proportion")
        return self


class Order(Record):
    """An order: garments of one kind (several sizes), one or more prints on each.

    ``number`` and ``date`` are those of its quote and papers: artcheck reads no clock.
    """

    name: str = ""
    customer: str = ""
    number: str = ""
    date: dt.date | None = None
    garment: Garment = Garment()
    prints: Annotated[tuple[Print, ...], Field(min_length=1)]
    needed_by: dt.date | None = None
    rush: bool = False

    @model_validator(mode="after")
    def _sizes_known(self) -> Self:
        known = [run.size for run in self.garment.sizes]
        for print_ in self.prints:
            lost = [size for size in print_.sizes if size not in known]
            if lost:
                raise ValueError(
                    f"{print_.art} is for size {lost[0]}, and the garment's sizes are"
                    f" {', '.join(known) or 'not told'}"
                )
        return self

    @property
    def pieces(self) -> int | None:
        """Finished pieces of the order."""
        return self.garment.pieces

    def carrying(self, index: int) -> Order:
        """The order as one print sees it: with the garment sizes that carry it alone."""
        sizes = self.prints[index].sizes
        if not sizes:
            return self
        runs = tuple(run for run in self.garment.sizes if run.size in sizes)
        garment = self.garment.model_copy(update={"sizes": runs, "quantity": None})
        return self.model_copy(update={"garment": garment})
