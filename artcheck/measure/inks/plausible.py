"""Other honest readings of the number of inks, and what decides between them."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.colour.difference import delta_e_2000_single
from artcheck.domain.measurements import InkMeasured, PlausibleCount

APART = 6.0
"""CIEDE2000 under which a shop may well print two colours as one: twice what is seen at arm's
length on cloth (common practice)."""

SURELY_SEEN = 0.01
"""Share of the ink area from which nobody overlooks an ink."""

MOST_READINGS = 4
"""Readings that a designer still reads."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing that changes the count by ``change``, and what decides."""

    change: int
    why: str


def plausible_counts(
    inks: list[InkMeasured],
    faint: list[InkMeasured],
    unsure: list[InkMeasured],
    refused: list[InkMeasured],
    encloses_paper: bool,
) -> tuple[PlausibleCount, ...]:
    """Every other count that one doubt, or all those of its kind together, would make.

    Parameters
    ----------
    inks
        Those counted.
    faint
        Colours that cover too little to be counted, but might be meant.
    unsure
        Counted inks that show nowhere as a solid, in art whose noise could make them.
    refused
        Colours taken for blends of two others, in art whose noise leaves that open.
    encloses_paper
        Paper-coloured areas lie inside the art.
    """
    count = len(inks)
    doubts = [*_near_pairs(inks), *_small(inks), *_faint(faint)]
    doubts += [
        Doubt(-1, f"{ink.hex} shows only in lines too thin to be sure that it is no blend")
        for ink in unsure
    ]
    doubts += [
        Doubt(1, f"{ink.hex} was read as a blend of its neighbours; it may be an ink of its own")
        for ink in refused
    ]
    if encloses_paper:
        doubts.append(Doubt(1, "paper-coloured areas inside the art are white ink, not open"))
    return _readings(count, doubts)


def _near_pairs(inks: list[InkMeasured]) -> list[Doubt]:
    """Each ink that lies near a larger one."""
    doubts = []
    for place, ink in enumerate(inks):
        apart = [(delta_e_2000_single(ink.lab, other.lab), other) for other in inks[:place]]
        if apart:
            distance, other = min(apart, key=lambda pair: pair[0])
            if distance < APART:
                why = f"{other.hex} and {ink.hex} are {distance:.1f} apart: one ink if accepted"
                doubts.append(Doubt(-1, why))
    return doubts


def _small(inks: list[InkMeasured]) -> list[Doubt]:
    return [
        Doubt(-1, f"{ink.hex} covers {ink.share:.1%} of the ink: it could be left out")
        for ink in inks
        if ink.share < SURELY_SEEN
    ]


def _faint(faint: list[InkMeasured]) -> list[Doubt]:
    return [
        Doubt(1, f"{ink.hex} covers only {ink.share:.2%} of the ink: counted if it is meant")
        for ink in faint
    ]


def _readings(count: int, doubts: list[Doubt]) -> tuple[PlausibleCount, ...]:
    """Counts one step away, then with more doubts of the same direction together."""
    found: dict[int, list[str]] = {}
    for sign in (-1, 1):
        reasons = [doubt.why for doubt in doubts if doubt.change == sign]
        for steps in range(1, len(reasons) + 1):
            if count + sign * steps >= 1:
                found[count + sign * steps] = reasons if steps > 1 else reasons[:1]
    nearest = sorted(found, key=lambda reading: (abs(reading - count), reading))[:MOST_READINGS]
    return tuple(PlausibleCount(count=each, why="; ".join(found[each])) for each in nearest)
