"""What is asked of a separation, beside the order itself."""

from typing import Annotated, Literal

from pydantic import Field

from artcheck.domain.base import Record
from artcheck.domain.order import BrandColour

FilmEdges = Literal["hard", "soft"]
"""hard: every pixel is inked or bare. soft: partly covered rims and glows stay as they are."""


Fades = Literal["halftone", "flat"]
"""halftone: fades between two inks are kept as dots. flat: every pixel is one ink."""


class SeparationOptions(Record):
    """How the simplified version is wanted.

    ``inks`` is the number of inks, None for the fewest from which more buy little. ``method`` is an
    id of the shop, None for the recommended method, or for a spot method where ``inks`` is given.
    ``locked`` inks are in whatever else is chosen. ``trap_pt`` replaces the method's own trap.
    ``fades`` is None for dots where the method prints them, else flat inks.
    The last two shape films of full-colour methods: their edges, and whether areas of the garment's
    colour are left open.
    """

    inks: int | None = None
    method: str | None = None
    locked: tuple[BrandColour, ...] = ()
    trap_pt: Annotated[float, Field(ge=0, le=20)] | None = None
    fades: Fades | None = None
    film_edges: FilmEdges = "hard"
    knock_out_garment: bool = False
