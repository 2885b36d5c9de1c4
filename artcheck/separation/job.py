"""Everything that goes into one job folder."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.domain.artwork import Cutout
from artcheck.domain.check import Report
from artcheck.domain.manifest import Comparison
from artcheck.domain.separation import Separated
from artcheck.domain.shop import Method
from artcheck.separation.film import Film
from artcheck.separation.plates import Plates
from artcheck.separation.proof import Proof


@dataclass(frozen=True, slots=True, kw_only=True)
class SeparationJob:
    """One print, ready to be written.

    Attributes
    ----------
    report
        What `artcheck.check` says of the art as it came.
    cutout
        The art as it came, freed from its background.
    method
        How it is printed.
    proof
        How it will look.
    comparison
        The art and its simplified version, measured and judged alike.
    separated, plates
        Where the method prints inks.
    film
        Where it prints full colour.
    warnings
        What the designer must know, from every step.
    """

    report: Report
    cutout: Cutout
    method: Method
    proof: Proof
    comparison: Comparison
    separated: Separated | None = None
    plates: Plates | None = None
    film: Film | None = None
    warnings: tuple[str, ...] = ()
