"""What a customer ordered: garments, prints on them, dates."""

import datetime as dt
from typing import Annotated, Self

from pydantic import Field, model_validator

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.base import Count, Record
from artcheck.errors import UsageError

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
    ``name`` is what prints call it in an order of several garments; without, its kind.
    """

    name: str | None = None
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
    def label(self) -> str:
        """What prints of an order call it."""
        return self.name or self.kind or ""

    @property
    def pieces(self) -> int | None:
        """Finished pieces, from the sizes or the plain quantity; None when not told."""
        return sum(s.quantity for s in self.sizes) if self.sizes else self.quantity

    def has_size(self, size: str) -> bool:
        """Whether some of its pieces are of this size."""
        return any(run.size == size for run in self.sizes)

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
    carry the print, ``garments`` the garments of an order of several; none: all of them do.
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
    garments: tuple[str, ...] = ()
    inks: tuple[str, ...] = ()
    art_minutes: Count = 0
    method: str | None = None

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.width_in is not None and self.height_in is not None:
            raise ValueError("give width_in or height_in, not both: the art keeps its proportion")
        return self


class Order(Record):
    """An order: one garment or several, each with its sizes; one or more prints on each.

    ``number`` and ``date`` are those of its quote and papers: artcheck reads no clock. With several
    ``garments`` a print that several of them carry is checked on each: see `spread`.
    """

    name: str = ""
    customer: str = ""
    number: str = ""
    date: dt.date | None = None
    garment: Garment = Garment()
    garments: tuple[Garment, ...] = ()
    prints: Annotated[tuple[Print, ...], Field(min_length=1)]
    needed_by: dt.date | None = None
    rush: bool = False

    @model_validator(mode="after")
    def _garments_told_apart(self) -> Self:
        if self.garments and self.garment != Garment():
            raise ValueError("give one [garment] or several [[garments]], not both")
        labels = [garment.label for garment in self.garments]
        if len(labels) > 1 and (len(set(labels)) < len(labels) or not all(labels)):
            raise ValueError("give each of the garments a name of its own: prints refer to it")
        return self

    @model_validator(mode="after")
    def _garments_and_sizes_known(self) -> Self:
        labels = [garment.label for garment in self.garments]
        for print_ in self.prints:
            lost = [name for name in print_.garments if name not in labels]
            if lost:
                raise ValueError(
                    f"{print_.art} is for {lost[0]}, and the order's garments are"
                    f" {', '.join(labels) or 'one [garment]'}"
                )
            known = [run.size for garment in self._carriers(print_) for run in garment.sizes]
            lost = [size for size in print_.sizes if size not in known]
            if lost:
                raise ValueError(
                    f"{print_.art} is for size {lost[0]}, and the garment's sizes are"
                    f" {', '.join(known) or 'not told'}"
                )
        bare = [g for g in self.garments if not any(g in self._worn_with(p) for p in self.prints)]
        if bare:
            raise ValueError(f"no print is for {bare[0].label}: name it at one, or take it out")
        return self

    @property
    def worn(self) -> tuple[Garment, ...]:
        """The garments, one or several."""
        return self.garments or (self.garment,)

    @property
    def pieces(self) -> int | None:
        """Finished pieces of the order; None where a garment's are not told."""
        counts = [garment.pieces for garment in self.worn]
        return None if None in counts else sum(count or 0 for count in counts)

    def _carriers(self, print_: Print) -> list[Garment]:
        """The garments that a print names, or all."""
        return [g for g in self.worn if not print_.garments or g.label in print_.garments]

    def _worn_with(self, print_: Print) -> list[Garment]:
        """The garments of which some sizes, or all, carry the print."""
        return [
            garment
            for garment in self._carriers(print_)
            if not print_.sizes or any(garment.has_size(size) for size in print_.sizes)
        ]

    def spread(self) -> "Order":
        """The order with a print of its own for each garment that carries it.

        What is judged and pressed differs from garment to garment; what is bought is put together
        again. Art time is spent once.
        """
        if not self.garments:
            return self
        prints: list[Print] = []
        for print_ in self.prints:
            prints += [
                print_.model_copy(
                    update={
                        "garments": (garment.label,),
                        "sizes": tuple(s for s in print_.sizes if garment.has_size(s)),
                        "art_minutes": 0 if number else print_.art_minutes,
                    }
                )
                for number, garment in enumerate(self._worn_with(print_))
            ]
        return self.model_copy(update={"prints": tuple(prints)})

    def carrying(self, index: int) -> "Order":
        """The order as one print sees it: its garment, with the sizes that carry it alone.

        Raises
        ------
        UsageError
            Several garments carry it: the order is not `spread`.
        """
        print_ = self.prints[index]
        carriers = self._carriers(print_)
        if len(carriers) > 1:
            raise UsageError(f"{print_.art} is for several garments. Check the order's spread().")
        garment = carriers[0]
        if print_.sizes:
            runs = tuple(run for run in garment.sizes if run.size in print_.sizes)
            garment = garment.model_copy(update={"sizes": runs, "quantity": None})
        return self.model_copy(update={"garment": garment, "garments": ()})
