"""Yield and time of layouts against the tables of known answers.

Run ``python -m tests.benchmarks.bench_layouts [copies] [replicated] [rolls] [sheets]``, with
``--seconds S`` to change every search's budget.
"""

from __future__ import annotations

import argparse
import csv
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from artcheck.pricing.gangs import ReplicatedGang, replicated_gang, roll_gang, sheet_gang
from artcheck.pricing.gangs.free import ROLL_BUDGET_S, SHEETS_BUDGET_S
from artcheck.pricing.gangs.replicated import REPLICATED_BUDGET_S
from artcheck.pricing.sheets import TIME_BUDGET_S, copies_on_sheet
from tests.pricing.gangs.cases import CASES, designs_of

DATA = Path(__file__).parents[1] / "data" / "pricing"


def _times(times: list[float]) -> str:
    return f"median {statistics.median(times) * 1e3:.1f} ms, longest {max(times):.2f} s (CPU)"


def copies(seconds: float | None) -> None:
    """One piece, one sheet: copies against the proven optimum."""
    rows = list(csv.DictReader((DATA / "yield_dev.csv").read_text(encoding="utf-8").splitlines()))
    times, optimal, proven, short = [], 0, 0, []
    for row in rows:
        sheet, piece = (float(row["W"]), float(row["H"])), (float(row["w"]), float(row["h"]))
        gutter, margin = float(row["gutter"]), float(row["margin"])
        turns, budget = row["rotate"] == "1", seconds or TIME_BUDGET_S
        start = time.process_time()
        layout = copies_on_sheet(sheet, piece, gutter, margin, turns, budget)
        times.append(time.process_time() - start)
        optimal += layout.copies == int(row["optimum"])
        proven += layout.proven
        if not layout.proven or layout.copies != int(row["optimum"]):
            short.append(f"{row['id']} {layout.copies} of {row['optimum']} <= {layout.upper_bound}")
    grid = sum(int(row["simple_grid"]) < int(row["optimum"]) for row in rows)
    print(f"copies: {len(rows)} cases, {optimal} optimal, {proven} proven; grid short in {grid}")
    print(f"  {_times(times)}; open: {', '.join(short) or 'none'}")


def replicated(seconds: float | None) -> None:
    """Sheets printed all alike: sheets on one layout and on two against the proven optimum."""
    for layouts, key in ((1, "one_layout"), (2, "two_layouts")):
        times, optimal, proven = [], 0, 0
        for case in CASES["replicated"]:
            start = time.process_time()
            gang = _replicated(case, layouts, seconds)
            times.append(time.process_time() - start)
            optimal += gang.sheets == case[key]["sheets"]
            proven += gang.proven
        total = len(CASES["replicated"])
        print(f"replicated, {key}: {total} cases, {optimal} optimal, {proven} proven")
        print(f"  {_times(times)}")


def _replicated(case: dict[str, Any], layouts: int, seconds: float | None) -> ReplicatedGang:
    return replicated_gang(
        designs_of(case),
        tuple(case["sheet"]),
        case["gutter"],
        case["margin"],
        most_layouts=layouts,
        time_budget_s=seconds or REPLICATED_BUDGET_S,
    )


def rolls(seconds: float | None) -> None:
    """Free layouts on a roll: length against the bound of the table and the best known."""
    times, distances, known = [], [], []
    for case in CASES["roll"]:
        budget = seconds or ROLL_BUDGET_S
        start = time.process_time()
        gang = roll_gang(designs_of(case), case["roll_width"], case["gutter"], case["edge"], budget)
        times.append(time.process_time() - start)
        distances.append(gang.length_in / case["length_lower_bound"] - 1)
        known.append(case["length_best_known"] / case["length_lower_bound"] - 1)
        print(
            f"  {case['id']}: {case['pieces']} pieces, {gang.length_in:g} in,"
            f" own bound {gang.lower_bound_in:g}, bound {case['length_lower_bound']:g},"
            f" best known {case['length_best_known']:g}: {distances[-1]:.1%} above the bound"
        )
    print(
        f"rolls: {len(distances)} cases, {statistics.mean(distances):.2%} above the bound on"
        f" average, at most {max(distances):.2%} (best known: {statistics.mean(known):.2%})"
    )
    print(f"  {_times(times)}")


def sheets(seconds: float | None) -> None:
    """Free layouts on sheets: their number against the best known."""
    times, at_best, proven = [], 0, 0
    for case in CASES["sheets"]:
        budget, size = seconds or SHEETS_BUDGET_S, tuple(case["sheet"])
        start = time.process_time()
        gang = sheet_gang(designs_of(case), size, case["gutter"], case["margin"], budget)
        times.append(time.process_time() - start)
        at_best += len(gang.sheets) == case["sheets_best_known"]
        proven += gang.proven
    print(f"sheets: {len(times)} cases, {at_best} at the best known, {proven} proven")
    print(f"  {_times(times)}")


PARTS: dict[str, Callable[[float | None], None]] = {
    "copies": copies,
    "replicated": replicated,
    "rolls": rolls,
    "sheets": sheets,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", default=list(PARTS), help=", ".join(PARTS))
    parser.add_argument("--seconds", type=float)
    given = parser.parse_args()
    for part in given.parts:
        PARTS[part](given.seconds)


if __name__ == "__main__":
    main()
