"""Spot inks that a page names: Separation and DeviceN colour spaces (ISO 32000-1, 8.6.6)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from artcheck.domain.artwork import DeclaredInk
from artcheck.domain.base import Lab

_PROCESS = {"All", "None", "Cyan", "Magenta", "Yellow", "Black"}


def declared_inks(spaces: Iterable[Any]) -> tuple[DeclaredInk, ...]:
    """The inks of these colour spaces, each once, in the order they are met."""
    found: dict[str, DeclaredInk] = {}
    for space in spaces:
        for ink in _inks_of(space):
            found.setdefault(ink.name, ink)
    return tuple(found.values())


def _inks_of(space: Any) -> Iterator[DeclaredInk]:
    import pikepdf

    if not isinstance(space, pikepdf.Array) or len(space) < 2:
        return
    if space[0] in ("/Indexed", "/Pattern"):
        yield from _inks_of(space[1])
    if len(space) < 4:
        return
    if space[0] == "/Separation":
        names = [str(space[1]).lstrip("/")]
    elif space[0] == "/DeviceN":
        names = [str(part).lstrip("/") for part in space[1]]
    else:
        return
    for name in names:
        if name not in _PROCESS:
            yield DeclaredInk(name=name, lab=_full_tint(space) if len(names) == 1 else None)


def _full_tint(space: Any) -> Lab | None:
    """The ink's own colour: its alternate colour at a tint of 1, for exponential functions."""
    function, alternate = space[3], space[2]
    values = function.get("/C1") if function.get("/FunctionType") == 2 else None
    if values is None:
        return None
    numbers = [float(v) for v in values]
    kind = str(alternate[0] if not str(alternate).startswith("/") else alternate)
    return _as_lab(kind, numbers)


def _as_lab(kind: str, numbers: list[float]) -> Lab | None:
    if kind == "/Lab" and len(numbers) == 3:
        return numbers[0], numbers[1], numbers[2]
    if kind in ("/DeviceRGB", "/CalRGB", "/ICCBased") and len(numbers) == 3:
        from artcheck.colour.spaces import srgb8_to_lab

        codes = np.rint(np.clip(numbers, 0, 1) * np.float64(255)).astype(np.uint8)
        lab = srgb8_to_lab(codes[np.newaxis])[0]
        return float(lab[0]), float(lab[1]), float(lab[2])
    if kind in ("/DeviceCMYK", "/ICCBased") and len(numbers) == 4:
        from artcheck.colour.print_model import packaged_model

        lab = packaged_model("tr006").lab([numbers])[0]
        return float(lab[0]), float(lab[1]), float(lab[2])
    return None
