"""Thinnest lines, narrowest gaps and ink area against their known values.

Run: ``python -m tests.benchmarks.bench_detail [--quick] [--worst N]``
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from artcheck.measure.detail import measure_detail
from artcheck.measure.inks import count_inks
from artcheck.measure.scan import Scan
from artcheck.measure.tone import measure_tone
from artcheck.reading import read
from tests.benchmarks.drawn_lines import STATES, Drawing, drawings, rendered

WITHIN = 0.10
TARGETS = {"median": 0.015, "within": 0.95}


@dataclass(frozen=True)
class Score:
    """One width measured: ``error`` is relative, None where nothing was found."""

    drawing: Drawing
    state: str
    found_px: float | None
    seconds: float

    @property
    def error(self) -> float:
        if self.found_px is None:
            return 1.0
        return abs(self.found_px / self.drawing.width_px - 1)

    @property
    def family(self) -> str:
        return self.drawing.kind.rstrip("0123456789 ")


def measured(drawing: Drawing, state: str, data: bytes, folder: Path) -> Score:
    path = folder / ("art.jpg" if "jpeg" in state else "art.png")
    path.write_bytes(data)
    scan = Scan(read(path))
    inks = count_inks(scan, measure_tone(scan)).inks if drawing.inks else ()
    start = time.perf_counter()
    detail = measure_detail(scan, inks=inks)
    seconds = time.perf_counter() - start
    lines = drawing.measure == "line"
    found = detail.thinnest_line_px if lines else detail.narrowest_gap_px
    return Score(drawing, state, found, seconds)


def scores(groups: tuple[str, ...], states: tuple[str, ...], every: int) -> Iterator[Score]:
    with tempfile.TemporaryDirectory() as folder:
        for n, drawing in enumerate(drawings(groups)):
            if n * 7919 % 997 % every:
                continue
            rgba = rendered(drawing)
            for state in states:
                yield measured(drawing, state, STATES[state](rgba), Path(folder))


def table(found: list[Score], by: str) -> None:
    keys = sorted({getattr(score, by) for score in found})
    print(f"{by:24} {'n':>5} {'median':>8} {'p95':>8} {'within 10 %':>12} {'missed':>7}")
    for key in [*keys, "all"]:
        some = [s for s in found if key == "all" or getattr(s, by) == key]
        errors = np.array([s.error for s in some])
        missed = sum(s.found_px is None for s in some)
        print(
            f"{key:24} {len(some):5} {np.median(errors):8.2%} {np.quantile(errors, 0.95):8.2%}"
            f" {np.mean(errors <= WITHIN):12.1%} {missed:7}"
        )
    print()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="measure each n-th drawing only")
    parser.add_argument("--worst", type=int, default=0, help="list so many of the worst")
    parser.add_argument("--groups", default="straight,rings,letters")
    parser.add_argument("--states", default=",".join(STATES))
    options = parser.parse_args()
    states = tuple(options.states.split(","))
    found = list(scores(tuple(options.groups.split(",")), states, options.every))
    plain = [s for s in found if s.state in ("transparent", "white")]
    print(f"Targets on transparent and white: median <= 1.5 %, within 10 % >= 95 % ({len(plain)})")
    table(found, "state")
    for state in states:
        print(state)
        table([s for s in found if s.state == state], "family")
    for score in sorted(found, key=lambda s: -s.error)[: options.worst]:
        d = score.drawing
        print(f"{score.state:18} {d.kind:18} {d.ppi} ppi {d.width_px:7.3f} px -> {score.found_px}")


if __name__ == "__main__":
    main()
