"""What may be chosen before a separation: how many inks, and which must be in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from artcheck.domain.check import InkReport, LadderRung, MethodReport, Report
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

    ``rungs`` are the numbers of inks to choose from, each with its best inks; none for a
    photograph, which inks cannot hold. ``inks_by`` is the method that would print them.
    """

    method: MethodReport | None
    film: bool
    rungs: tuple[LadderRung, ...]
    inks_by: str
    locks: tuple[Lock, ...]


def choice_of(report: Report, shop: Shop) -> Choice:
    """What the panel offers for this report."""
    method = words.chosen_method(report)
    films = {one.id for one in shop.methods if one.prints_every_colour}
    film = method is not None and method.id in films
    prints_inks = method.id if method is not None and not film else _first_of(report)
    return Choice(
        method=method,
        film=film,
        rungs=tuple(_best(report, prints_inks)),
        inks_by=words.method_names(report).get(prints_inks or "", ""),
        locks=tuple(_locks(report)),
    )


def _first_of(report: Report) -> str | None:
    """The method that a number of inks means where the recommended one counts none."""
    return next((rung.method for rung in report.ink_ladder), None)


def _best(report: Report, method: str | None) -> Iterator[LadderRung]:
    """One rung for each number of inks: the first, which is the best."""
    seen = set()
    for rung in report.ink_ladder:
        if rung.method == method and rung.inks not in seen:
            seen.add(rung.inks)
            yield rung


def _locks(report: Report) -> Iterator[Lock]:
    for ink in report.inks.list:
        if ink.plan != "knocked out":
            yield Lock(ink.name, _colour(ink), ink.hex)


def _colour(ink: InkReport) -> str:
    return "lab({:.3f} {:.3f} {:.3f})".format(*ink.lab)
