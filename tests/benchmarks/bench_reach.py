"""Accuracy and time of print models and of reach. Run ``python -m tests.benchmarks.bench_reach``.

Times are of the processor, not of the clock, and so an upper bound for one core.
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from artcheck.colour import lattice
from artcheck.colour.chart import Chart, read_chart
from artcheck.colour.difference import delta_e_2000
from artcheck.colour.print_model import PrintModel, packaged_model, read_print_model
from artcheck.colour.reach import nearest_reachable, nearest_reachable_many
from artcheck.colour.spaces import srgb8_to_lab
from tests.colour.searching import SlowSearch
from tests.colour.test_reach import BRANDS

Lab = tuple[float, float, float]

ROOT = Path(__file__).parents[2]
CHARTS = {
    "tr006": ROOT / "tests" / "data" / "colour" / "TR006.ti3",
    "fogra39": ROOT / "artcheck" / "colour" / "data" / "FOGRA39L.ti3",
}
ONE_COLOUR_BUDGET_MS, MANY_COLOURS_BUDGET_MS = 30.0, 10.0


def milliseconds(work: Callable[[], object], repeats: int) -> float:
    """Median processor time of one run."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1000 * statistics.median(times)


def spread(count: int, seed: int) -> list[Lab]:
    rows = np.random.default_rng(seed).uniform([12, -80, -80], [94, 80, 80], (count, 3)).tolist()
    return [(lightness, a, b) for lightness, a, b in rows]


def worths(labs: list[Lab], model: PrintModel) -> np.ndarray:
    return np.array([reach.delta_e_2000 for reach in nearest_reachable_many(labs, model)])


def summary(values: np.ndarray) -> str:
    low, middle, high = np.percentile(values, [50, 95, 99])
    return f"median {low:.4f}, 95 % {middle:.4f}, 99 % {high:.4f}, worst {values.max():.4f}"


def forward(name: str, model: PrintModel, chart: Chart) -> None:
    print(f"\n{name}: {model.name}")
    missed = delta_e_2000(model.lab(chart.cmyk), chart.lab)
    print(f"  patches given back, dE00: mean {missed.mean():.4f}, worst {missed.max():.3f}")
    held = lattice.held_out_delta_e_2000(chart.cmyk, chart.lab)
    print(f"  patches foretold by the others: mean {held.mean():.3f}, {summary(held)}")


def reach(name: str, model: PrintModel, searched: int) -> None:
    printed = model.lab(np.random.default_rng(1).random((1000, 4))).astype(float).tolist()
    zero = worths([(light, a, b) for light, a, b in printed], model)
    print(f"  reach of 1,000 colours it prints: {summary(zero)}")
    wanted = spread(searched, seed=21)
    slow = SlowSearch(model)
    apart = worths(wanted, model) - np.array([slow.nearest(lab) for lab in wanted])
    print(f"  against the slow search, {searched} colours: median {np.median(np.abs(apart)):.4f},")
    print(f"    worse by at most {apart.max():.4f}, better by at most {-apart.min():.4f}")
    many = spread(1000, seed=5)
    one = milliseconds(lambda: nearest_reachable(many[0], model), 20)
    singles = [milliseconds(partial(nearest_reachable, lab, model), 3) for lab in many[:60]]
    each = milliseconds(lambda: nearest_reachable_many(many, model), 1) / len(many)
    print(f"  one colour {one:.1f} ms; of 60: median {statistics.median(singles):.1f}, slowest")
    print(f"    {max(singles):.1f} ({max(singles) / ONE_COLOUR_BUDGET_MS:.2f} of the budget)")
    print(f"  1,000 colours {each:.2f} ms each ({each / MANY_COLOURS_BUDGET_MS:.2f} of the budget)")
    nodes = model.node_lab.astype(float)
    squares = np.square(np.array(many)[:, np.newaxis] - nodes).sum(axis=2)
    shortcut = delta_e_2000(nodes[squares.argmin(axis=1)], np.array(many)) - worths(many, model)
    print(f"  taking the node nearest in CIELAB instead is further by: {summary(shortcut)}")


def second_model(model: PrintModel) -> None:
    """Against a profile that ArgyllCMS makes from the same patches."""
    colprof = shutil.which("colprof")
    if colprof is None:
        print("\nno second forward model: colprof (Debian package argyll) is not installed")
        return
    for quality in ("l", "m"):
        with tempfile.TemporaryDirectory() as folder:
            shutil.copy(CHARTS["tr006"], Path(folder) / "tr006.ti3")
            command = [colprof, f"-q{quality}", "-bn", "tr006"]
            subprocess.run(command, cwd=folder, check=True, capture_output=True)
            second = read_print_model((Path(folder) / "tr006.icc").read_bytes(), "tr006.icc")
        cmyk = np.random.default_rng(0).random((5000, 4))
        models = delta_e_2000(model.lab(cmyk), second.lab(cmyk))
        wanted = [*(lab for lab, _, _ in BRANDS.values()), *spread(200, seed=3)]
        reaches = np.abs(worths(wanted, model) - worths(wanted, second))
        print(f"\nprofile by ArgyllCMS, quality {quality}, read as a user's own")
        print(f"  the models themselves: mean {models.mean():.2f}, {summary(models)}")
        print(f"  reach of {len(wanted)} colours: {summary(reaches)}")


def brands(models: dict[str, PrintModel]) -> None:
    print(
        f"\n{'brand colour':14}{'Lab':>14}"
        + "".join(f"{name:>10}{'Lab there':>18}" for name in models)
    )
    for name, (lab, _, _) in BRANDS.items():
        row = f"{name:14}{' '.join(f'{value:g}' for value in lab):>14}"
        for model in models.values():
            found = nearest_reachable(lab, model)
            row += f"{found.delta_e_2000:10.2f}{' '.join(f'{v:.0f}' for v in found.swatch_lab):>18}"
        print(row)


def times() -> None:
    load = (
        "import time; import numpy, artcheck.domain.base; a = time.perf_counter(); "
        "from artcheck.colour.print_model import packaged_model; import artcheck.colour.reach; "
        "b = time.perf_counter(); packaged_model({!r}); c = time.perf_counter(); "
        "print(1000 * (b - a), 1000 * (c - b))"
    )
    for name in CHARTS:
        runs = [
            subprocess.run(
                [sys.executable, "-c", load.format(name)], check=True, capture_output=True
            )
            for _ in range(5)
        ]
        figures = np.median([[float(word) for word in run.stdout.split()] for run in runs], axis=0)
        print(f"cold: imports {figures[0]:.0f} ms, then {name} {figures[1]:.0f} ms")
    picture = np.random.default_rng(0).integers(0, 256, (2000, 3000, 3), dtype=np.uint8)
    print(
        f"6 megapixels of sRGB to CIELAB: {milliseconds(lambda: srgb8_to_lab(picture), 5):.0f} ms"
    )
    nodes = packaged_model().node_lab
    per = milliseconds(lambda: delta_e_2000(nodes, nodes[:1]), 20) / len(nodes)
    print(f"CIEDE2000 of arrays: {1e6 * per:.0f} ns a pair")


def main() -> None:
    times()
    models = {"tr006": packaged_model("tr006"), "fogra39": packaged_model("fogra39")}
    for name, model in models.items():
        forward(name, model, read_chart(CHARTS[name].read_bytes(), CHARTS[name].name))
        reach(name, model, searched=20)
    second_model(models["tr006"])
    brands(models)


if __name__ == "__main__":
    main()
