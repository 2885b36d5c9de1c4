"""What may be chosen before a separation: how many inks, and which must be in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from artcheck.domain.check import InkReport, MethodReport, Report
from artcheck.domain.shop import Shop
from artcheck.report import words


@dataclass(frozen=True, slots=True)
class Lock:
    """An ink of the art that may be asked to be in, and its colour in the order's words."""

    name: str
    colour: str
    hex: str


@dataclass(frozen=True, slots=True)
class Choice:
    """``film``: what is recommended prints every colour, and no number is chosen.

    ``counts`` is empty for a photograph, which inks cannot hold.
    """

    method: MethodReport | None
    film: bool
    counts: tuple[int, ...]
    locks: tuple[Lock, ...]


def choice_of(report: Report, shop: Shop) -> Choice:
    """What the panel offers for this report."""
    method = words.chosen_method(report)
    films = {one.id for one in shop.methods if one.prints_every_colour}
    return Choice(
        method=method,
        film=method is not None and method.id in films,
        counts=tuple(range(1, _most(report, shop) + 1)),
        locks=tuple(_locks(report)),
    )


def _most(report: Report, shop: Shop) -> int:
    """Inks beyond those of the art print nothing more, and no method of the shop prints more."""
    if report.tone.kind == "photo":
        return 0
    limits = [method.most_inks for method in shop.methods if method.most_inks is not None]
    inks = sum(1 for ink in report.inks.list if ink.plan != "knocked out")
    return min(max(inks, 1), max(limits, default=0))


def _locks(report: Report) -> Iterator[Lock]:
    for ink in report.inks.list:
        if ink.plan != "knocked out":
            yield Lock(ink.name, _colour(ink), ink.hex)


def _colour(ink: InkReport) -> str:
    return "lab({:.3f} {:.3f} {:.3f})".format(*ink.lab)
