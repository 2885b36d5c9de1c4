"""The ink ladder as text report and page show it: by method, only where there is a choice."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.domain.check import LadderInk, LadderRung, Report
from artcheck.report.words import NOTHING, method_names, money


@dataclass(frozen=True, slots=True)
class LadderRow:
    """One number of inks, as it is shown."""

    inks: int
    mean: str
    p95: str
    worst: str
    cost: str
    each: str
    palette: tuple[LadderInk, ...]
    recommended: bool

    @property
    def names(self) -> str:
        """The inks; those to be mixed say so."""
        return ", ".join(ink_words(ink) for ink in self.palette)


@dataclass(frozen=True, slots=True)
class Ladder:
    """One method's rungs, and why one of them is recommended."""

    method: str
    rows: tuple[LadderRow, ...]
    reason: str


def ink_words(ink: LadderInk) -> str:
    """An ink of a rung."""
    return ink.name if ink.stock else f"{ink.name} (mixed)"


def ladders(report: Report) -> tuple[Ladder, ...]:
    """The ladder of each method that has more than one rung."""
    names = method_names(report)
    found = []
    for method in dict.fromkeys(rung.method for rung in report.ink_ladder):
        rungs = [rung for rung in report.ink_ladder if rung.method == method]
        if len(rungs) > 1:
            reason = next((rung.reason for rung in rungs if rung.recommended), "")
            found.append(Ladder(names.get(method, method), tuple(map(_row, rungs)), reason))
    return tuple(found)


def _row(rung: LadderRung) -> LadderRow:
    return LadderRow(
        inks=rung.inks,
        mean=f"{rung.mean_delta_e_2000:.1f}",
        p95=f"{rung.p95_delta_e_2000:.1f}",
        worst=f"{rung.worst_region_delta_e_2000:.1f}",
        cost=NOTHING if rung.total is None else money(rung.total),
        each=NOTHING if rung.per_piece is None else money(rung.per_piece),
        palette=rung.palette,
        recommended=rung.recommended,
    )
