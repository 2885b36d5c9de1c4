"""Yield and time of layouts against the tables of known answers.

Run ``python -m tests.benchmarks.bench_layouts [copies] [--seconds S]``.
"""

from __future__ import annotations

import argparse
import csv
import statistics
import time
from pathlib import Path

from artcheck.pricing.sheets import TIME_BUDGET_S, copies_on_sheet

DATA = Path(__file__).parents[1] / "data" / "pricing"


def copies(seconds: float) -> None:
    """One piece, one sheet: copies against the proven optimum."""
    rows = list(csv.DictReader((DATA / "yield_dev.csv").read_text(encoding="utf-8").splitlines()))
    times, optimal, proven, short = [], 0, 0, []
    for row in rows:
        sheet, piece = (float(row["W"]), float(row["H"])), (float(row["w"]), float(row["h"]))
        start = time.perf_counter()
        layout = copies_on_sheet(
            sheet,
            piece,
            float(row["gutter"]),
            float(row["margin"]),
            row["rotate"] == "1",
            seconds,
        )
        times.append(time.perf_counter() - start)
        optimal += layout.copies == int(row["optimum"])
        proven += layout.proven
        if not layout.proven or layout.copies != int(row["optimum"]):
            short.append(
                f"{row['id']}: {layout.copies} of {row['optimum']}, bound {layout.upper_bound}"
            )
    grid = sum(int(row["simple_grid"]) < int(row["optimum"]) for row in rows)
    print(
        f"copies: {len(rows)} cases, {optimal} optimal, {proven} proven (one-way grid short in {grid})"
    )
    print(f"  median {statistics.median(times) * 1e3:.1f} ms, longest {max(times):.2f} s")
    print("  open: " + "; ".join(short))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", nargs="*", default=["copies"])
    parser.add_argument("--seconds", type=float, default=TIME_BUDGET_S)
    given = parser.parse_args()
    if "copies" in given.what:
        copies(given.seconds)


if __name__ == "__main__":
    main()
