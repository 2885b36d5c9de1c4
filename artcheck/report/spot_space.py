"""Spot inks in PDF: one Separation colour space each (ISO 32000-1, 8.6.6.4)."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from artcheck.domain.base import Lab
from artcheck.report.words import plain

if TYPE_CHECKING:
    import pikepdf

_D50_WHITE = (0.9642, 1.0, 0.8249)
"""ICC.1:2010 profile connection space illuminant, as a PDF's Lab space wants it."""

_RESERVED = {"all", "none", "cyan", "magenta", "yellow", "black"}
"""Colorants with a meaning of their own: a spot ink must not be called so, or it would land on a
process plate, or on every one."""

_DECIMALS = 6


def colorants(inks: Iterable[str]) -> list[str]:
    """The inks' names as the PDF holds them: no two alike, or their plates would be one."""
    names: list[str] = []
    for ink in inks:
        name = plain(ink)
        name = f"{name} ink" if name.lower() in _RESERVED else name
        others = (name if n == 1 else f"{name} {n}" for n in itertools.count(1))
        names.append(next(other for other in others if other not in names))
    return names


def separation_space(colorant: str, lab: Lab) -> pikepdf.Array:
    """The space of one ink; where the ink is missing, Lab shows it, straight from paper white."""
    from pikepdf import Array, Dictionary, Name

    white = [real(x) for x in _D50_WHITE]
    shown = Array([Name.Lab, Dictionary(WhitePoint=white, Range=[-128, 127, -128, 127])])
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[100, 0, 0], C1=[real(x) for x in lab], N=1)
    return Array([Name.Separation, Name(f"/{colorant}"), shown, tint])


def real(value: float) -> Any:
    """A number as a PDF holds it: the same digits everywhere."""
    from decimal import Decimal

    return Decimal(f"{value:.{_DECIMALS}f}")
