"""Yield, gangs, flips: how good the answers are that money hangs on, and how long they take.

Everyday sheets and pieces drawn at random, each layout beside two simpler ways of cutting and the
bound that no layout exceeds; invented gangs beside their lower bounds; flips over 1 to 10,000
pieces; and the demo orders together and apart. Tables with known answers: ``bench_layouts``.

Run: ``python -m tests.benchmarks.bench_yield [--cases N]``
"""

from __future__ import annotations

import argparse
import random
import statistics
import time
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache, partial
from importlib import resources
from itertools import combinations
from pathlib import Path
from typing import TypeVar

from artcheck.domain.prices import PerRoll, PerSheet
from artcheck.domain.shop import Method
from artcheck.pipeline import evaluate_order, measure_order
from artcheck.pipeline.ganging import gang_order
from artcheck.pricing.crossover import MOST_PIECES, crossover
from artcheck.pricing.delivery import delivery_of
from artcheck.pricing.gangs import Design, roll_gang, sheets_ganged
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import cost_curve, purchase
from artcheck.pricing.quote import money_of
from artcheck.pricing.sheets import copies_on_sheet
from artcheck.shop import load_order, load_shop

SHEETS_IN = ((12.0, 15.0), (11.25, 14.0), (13.0, 19.0), (16.0, 20.0), (8.5, 11.0), (22.0, 60.0))
GUTTERS_IN, MARGINS_IN = (0.0, 0.125, 0.25, 0.5), (0.0, 0.0, 0.25, 0.5)
STEPS = 8
"""Pieces come in eighths of an inch, as shops measure."""

CUT_AT_MOST = 60
"""Copies up to which the guillotine is tried: it looks at every cut."""

SHEET_GANGS, ROLL_GANGS, JOBS_A_PAIR = 60, 24, 20

SHOP = load_shop()
MONEY = money_of(SHOP.prices, SHOP.currency)

T = TypeVar("T")


def timed(call: Callable[[], T], times: list[float]) -> T:
    start = time.process_time()
    answer = call()
    times.append(time.process_time() - start)
    return answer


def spent(times: list[float]) -> str:
    ordered = sorted(times)
    late = ordered[len(ordered) * 99 // 100]
    return (
        f"median {statistics.median(times) * 1e3:.1f} ms, 99 % {late * 1e3:.0f},"
        f" longest {ordered[-1] * 1e3:.0f} (CPU)"
    )


# --- copies on a sheet --------------------------------------------------------------------------

Case = tuple[tuple[float, float], tuple[float, float], float, float, bool]


def cases(count: int) -> Iterator[Case]:
    """Sheet, piece, gutter, margin, whether the piece may be turned."""
    chance = random.Random(2026)
    for _ in range(count):
        sheet = chance.choice(SHEETS_IN)
        piece = tuple(chance.randint(STEPS, 12 * STEPS) / STEPS for _ in range(2))
        gutter, margin = chance.choice(GUTTERS_IN), chance.choice(MARGINS_IN)
        yield sheet, (piece[0], piece[1]), gutter, margin, chance.random() < 0.85


def room(case: Case) -> tuple[tuple[int, int], tuple[int, int]]:
    """Sheet and piece with the gutter within, in sixteenths of an inch."""
    sheet, piece, gutter, margin, _ = case
    sides = [Fraction(side) - 2 * Fraction(margin) + Fraction(gutter) for side in sheet]
    pieces = [Fraction(side) + Fraction(gutter) for side in piece]
    across, down, a, b = (int(side * 2 * STEPS) for side in (*sides, *pieces))
    return (across, down), (a, b)


def one_way(case: Case) -> int:
    """The better of the two plain grids."""
    (across, down), (a, b) = room(case)
    grids = [(across // a) * (down // b)]
    grids += [(across // b) * (down // a)] if case[-1] else []
    return max(*grids, 0)


def guillotine(case: Case) -> int:
    """The most copies that cuts from edge to edge give, every cut tried."""
    (across, down), (a, b) = room(case)
    ways = [(a, b), (b, a)] if case[-1] else [(a, b)]
    steps = [sorted({way[side] for way in ways}) for side in (0, 1)]

    @cache
    def reached(length: int, side: int) -> tuple[int, ...]:
        found = {0}
        for step in steps[side]:
            for start in sorted(found):
                found.update(range(start + step, length + 1, step))
        return tuple(sorted(found))

    @cache
    def shrunk(length: int, side: int) -> int:
        return reached(length, side)[-1]

    @cache
    def most(width: int, height: int) -> int:
        width, height = shrunk(width, 0), shrunk(height, 1)
        best = max((width // w) * (height // h) for w, h in ways)
        if best == width * height // (a * b):
            return best
        for cut in reached(width // 2, 0)[1:]:
            best = max(best, most(cut, height) + most(width - cut, height))
        for cut in reached(height // 2, 1)[1:]:
            best = max(best, most(width, cut) + most(width, height - cut))
        return best

    return most(across, down) if min(across, down) > 0 else 0


def copies(count: int) -> None:
    losses: dict[str, list[float]] = {"one way": [], "guillotine": []}
    tried: Counter[str] = Counter()
    times: list[float] = []
    proven, open_gap, total = 0, Counter[int](), 0
    for case in cases(count):
        layout = timed(partial(copies_on_sheet, *case), times)
        if layout.upper_bound == 0:
            continue
        total += 1
        proven += layout.proven
        open_gap[layout.upper_bound - layout.copies] += 1
        simple = {"one way": one_way(case)}
        if layout.upper_bound <= CUT_AT_MOST:
            simple["guillotine"] = guillotine(case)
        for name, found in simple.items():
            assert found <= layout.copies, (case, name, found, layout.copies)
            tried[name] += 1
            if found < layout.copies:
                losses[name].append(1 - found / layout.copies)
    print(f"Copies of one piece: {total} of {count} everyday cases in which the piece fits")
    print(f"  proven best {proven / total:.2%}; copies short of the bound: {dict(open_gap)}")
    print(f"  {spent(times)}")
    for name, lost in losses.items():
        print(
            f"  {name:10} short in {len(lost) / tried[name]:5.1%} of {tried[name]}, then by"
            f" {statistics.mean(lost):.1%} on average, at most {max(lost):.0%}"
        )


# --- gangs --------------------------------------------------------------------------------------

INKS = ("Snow", "Coal", "Poppy")


def orders(count: int, seed: int) -> Iterator[list[Design]]:
    """Two to six designs of an order, mostly in one ink."""
    chance = random.Random(seed)
    for _ in range(count):
        yield [
            Design(
                name=f"design {n}",
                width_in=chance.randint(2 * STEPS, 10 * STEPS) / STEPS,
                height_in=chance.randint(2 * STEPS, 10 * STEPS) / STEPS,
                quantity=chance.choice((6, 12, 18, 24, 36, 48, 72, 100)),
                inks=frozenset({INKS[0] if chance.random() < 0.7 else chance.choice(INKS)}),
            )
            for n in range(chance.randint(2, 6))
        ]


def sheet_gangs(count: int) -> None:
    price = SHOP.method("spot").price
    assert isinstance(price, PerSheet)
    times: list[float] = []
    proven, cheaper, savings, beyond = 0, 0, [], []
    for designs in orders(count, 5):
        gang = timed(partial(sheets_ganged, price, designs, (), MONEY), times)
        jobs = [
            Job(
                prints=d.quantity,
                width_in=float(d.width_in),
                height_in=float(d.height_in),
                inks=len(d.inks),
            )
            for d in designs
        ]
        alone = sum((purchase(price, job, MONEY).total for job in jobs), Decimal(0))
        assert gang.total <= alone
        proven += gang.proven
        cheaper += gang.total < alone
        savings.append(float(1 - gang.total / alone))
        beyond.append(gang.needed / gang.lower_bound - 1)
    print(f"\nSpot sheets of {count} invented orders, 2 to 6 designs")
    print(
        f"  proven {proven / count:.0%}; sheets above their bound, where money decides and not"
        f" their number: median {statistics.median(beyond):.1%}, mean {statistics.mean(beyond):.1%}"
    )
    print(
        f"  cheaper together in {cheaper / count:.0%}; saved of the cost apart: mean"
        f" {statistics.mean(savings):.1%}, at most {max(savings):.0%}"
    )
    print(f"  {spent(times)}")


def roll_gangs(count: int) -> None:
    price = SHOP.method("film-roll").price
    assert isinstance(price, PerRoll)
    times: list[float] = []
    beyond = []
    for designs in orders(count, 6):
        gang = timed(partial(roll_gang, designs, price.width_in, price.gutter_in), times)
        beyond.append(gang.distance)
    ordered = sorted(beyond)
    print(f"\nFilm rolls of {count} invented orders, 2 to 6 designs")
    print(
        f"  length above the bound: mean {statistics.mean(beyond):.1%}, 95 %"
        f" {ordered[count * 95 // 100]:.1%}, at most {ordered[-1]:.1%}"
    )
    print(f"  {spent(times)}")


# --- flips --------------------------------------------------------------------------------------


def stretches(methods: tuple[Method, Method], job: Job) -> int:
    """Stretches of quantities, each with its cheapest method."""
    curves = {
        method.id: cost_curve(
            method.price, job, MONEY, MOST_PIECES, delivery_of(method.supplier, SHOP.prices)
        )[1:]
        for method in methods
    }
    return len(crossover(curves).flips)


def flips(count: int) -> None:
    chance = random.Random(7)
    times: list[float] = []
    most_flips = 0
    for first, second in combinations([m for m in SHOP.methods if m.id != "cut-film"], 2):
        for _ in range(count):
            job = Job(
                prints=1,
                width_in=chance.randint(16, 96) / STEPS,
                height_in=chance.randint(16, 96) / STEPS,
                inks=chance.randint(1, 3),
            )
            call = partial(stretches, (first, second), job)
            most_flips = max(most_flips, timed(call, times))
    print(f"\nFlips of two methods over 1 to {MOST_PIECES:,} prints: {len(times)} pairs")
    print(f"  {spent(times)} (target 50 ms); up to {most_flips} stretches")


# --- the demo -----------------------------------------------------------------------------------


def demo() -> None:
    folder = Path(str(resources.files("artcheck"))) / "demo" / "orders"
    print("\nThe demo orders: transfers as checked, and the cheapest method that takes all prints")
    print(f"  {'order':14} {'checked':>8} {'apart':>8} {'together':>8}  by")
    for file in sorted(folder.glob("*.toml")):
        order = load_order(file)
        measured = measure_order(order)
        checked = evaluate_order(measured, order, SHOP)
        report, _ = gang_order(measured, order, checked, SHOP)
        best = next((m for m in report.methods if m.id == report.cheapest), None)
        if best is None:
            print(f"  {file.stem:14} {'no method takes it':>8}")
            continue
        free = [c for layout in best.layouts for c in layout.copies if c.free]
        riding = ", ".join(f"{c.made} {c.design} free" for c in free)
        print(
            f"  {file.stem:14} {report.order_decoration or '-':>8} {best.cost_alone:>8}"
            f" {best.cost:>8}  {best.id}{': ' + riding if riding else ''}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=4000)
    given = parser.parse_args()
    copies(given.cases)
    sheet_gangs(SHEET_GANGS)
    roll_gangs(ROLL_GANGS)
    flips(JOBS_A_PAIR)
    demo()


if __name__ == "__main__":
    main()
