"""Count inks of drawings that nobody here made, in every state, beside targets and baselines.

Run: ``python -m tests.benchmarks.bench_inks [--sample N] [--seed S] [--development]``
"""

from __future__ import annotations

import argparse
import pickle
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Artwork
from artcheck.domain.measurements import InksMeasured
from artcheck.measure.area import measure_area
from artcheck.measure.inks import count_inks
from artcheck.measure.scan import Scan
from artcheck.measure.tone import measure_tone
from artcheck.reading import read
from tests.benchmarks.conditions import (
    CONDITIONS,
    TRUTH_PX,
    WHITE,
    Condition,
    Truth,
    render,
    truth_of,
)
from tests.benchmarks.drawn_sets import FLAT_SETS, Drawing, cache_folder, sample
from tests.benchmarks.own_art import MAKERS, own_sample

ALL_SETS = (*FLAT_SETS, *MAKERS)
AREA_TARGETS = {"a": (0.1, 1.0), "b": (0.3, 1.0)}
"""Ink area, median and worst error in percent, on transparency and on white."""

FOUND_WITHIN = 5.0
"""CIEDE2000 within which a colour counts as found."""


@dataclass(frozen=True)
class Case:
    """One drawing in one state, with the truth."""

    drawing: Drawing
    condition: Condition
    path: Path
    truth: Truth


@dataclass(frozen=True)
class Score:
    """One count against the truth."""

    case: Case
    count: int
    single: bool
    found: int
    reported_right: int
    reported: int
    seconds: float
    area_off: float

    @property
    def exact(self) -> bool:
        return self.count == self.case.truth.count

    @property
    def in_range(self) -> bool:
        truth = self.case.truth
        return min(truth.low, truth.count) <= self.count <= max(truth.high, truth.count)


def cases(drawings: list[Drawing], keys: str) -> Iterator[Case]:
    """Render (once: files are cached) each drawing in each state."""
    for drawing in drawings:
        folder = cache_folder() / "rendered" / drawing.set_name
        folder.mkdir(parents=True, exist_ok=True)
        truths = _truths(drawing, folder)
        for condition in CONDITIONS:
            if condition.key not in keys:
                continue
            truth = truths[condition.white_page]
            if truth.count == 0:
                continue
            suffix = "png" if condition.key in "abe" else "jpg"
            path = folder / f"{drawing.name}.{condition.key}.{suffix}"
            if not path.exists():
                path.write_bytes(condition.make(render(drawing.svg(condition.size_px))))
            yield Case(drawing, condition, path, truth)


def _truths(drawing: Drawing, folder: Path) -> dict[bool, Truth]:
    path = folder / f"{drawing.name}.truth-{TRUTH_PX}"
    if path.exists():
        stored: dict[bool, Truth] = pickle.loads(path.read_bytes())
        return stored
    crisp = render(drawing.svg(TRUTH_PX), crisp=True)
    truths = {white: truth_of(crisp, without_white=white) for white in (False, True)}
    path.write_bytes(pickle.dumps(truths))
    return truths


def ours(artwork: Artwork) -> InksMeasured:
    scan = Scan(artwork)
    return count_inks(scan, measure_tone(scan))


def score(case: Case, count: Callable[[Artwork], InksMeasured] = ours) -> Score:
    artwork = read(case.path)
    start = time.perf_counter()
    got = count(artwork)
    seconds = time.perf_counter() - start
    lab = np.array([ink.lab for ink in got.inks]).reshape(-1, 3)
    number = got.count
    if case.condition.white_page:
        number = got.count_without_white
        lab = lab[delta_e_2000(lab, srgb8_to_lab(WHITE, np.float64)) >= 2.0]
    apart = (
        delta_e_2000(case.truth.lab[:, None], lab[None])
        if len(lab)
        else np.full((len(case.truth.lab), 1), 99.0)
    )
    return Score(
        case,
        -1 if number is None else number,
        not got.also_plausible,
        int((apart.min(axis=1) < FOUND_WITHIN).sum()),
        int((apart.min(axis=0) < FOUND_WITHIN).sum()) if len(lab) else 0,
        len(lab),
        seconds,
        _area_off(artwork, case.truth),
    )


def _area_off(artwork: Artwork, truth: Truth) -> float:
    """How far the ink's area is off, in percent of it."""
    scan = Scan(artwork)
    page = scan.rgb.shape[0] * scan.rgb.shape[1]
    return float(100 * (measure_area(scan).ink_px / (truth.page_share * page) - 1))


def _rate(values: list[bool]) -> str:
    return f"{np.mean(values):.3f}" if values else "  -  "


def row(title: str, scores: list[Score], target: tuple[float, float] | None) -> str:
    exact = _rate([s.exact for s in scores])
    ranged = _rate([s.in_range for s in scores])
    recall = sum(s.found for s in scores) / max(1, sum(len(s.case.truth.lab) for s in scores))
    precision = sum(s.reported_right for s in scores) / max(1, sum(s.reported for s in scores))
    single = [s.in_range for s in scores if s.single]
    goal = f"{target[0]:.2f}/{target[1]:.2f}" if target else ""
    return (
        f"{title:36} {len(scores):5}  {exact} {ranged}  {goal:9}  {recall:.3f} {precision:.3f}  "
        f"{_rate(single)} ({len(single) / max(1, len(scores)):.2f})  "
        f"{1000 * np.median([s.seconds for s in scores]):.0f} ms"
    )


HEAD = f"{'':36} files  exact range  target     recall prec.  single count in range (share)  time"


def table(scores: list[Score]) -> None:
    print(HEAD)
    for condition in CONDITIONS:
        mine = [s for s in scores if s.case.condition == condition]
        if not mine:
            continue
        print(row(f"{condition.key}  {condition.title}", mine, condition.target))
        for name in ALL_SETS:
            part = [s for s in mine if s.case.drawing.set_name == name]
            if part:
                print(row(f"     {name}", part, None))
    print(row("all", scores, None))
    print(f"\n{'ink area, error in %':36} files  median  p95    worst  target")
    for condition in CONDITIONS:
        mine = [s for s in scores if s.case.condition == condition]
        if mine:
            print(area_row(condition, mine))


def area_row(condition: Condition, scores: list[Score]) -> str:
    off = np.abs([s.area_off for s in scores])
    goal = AREA_TARGETS.get(condition.key)
    worst = max(scores, key=lambda s: abs(s.area_off)).case.drawing.name
    return (
        f"{condition.key}  {condition.title:33} {len(scores):5}  {np.median(off):.3f}  "
        f"{np.percentile(off, 95):5.2f}  {off.max():5.2f}  "
        f"{f'{goal[0]} / {goal[1]}' if goal else '':9}  worst: {worst}"
    )


def chosen(sets: list[str], count: int, held_out: bool, seed: int) -> list[Drawing]:
    """Drawings of the named sets, fetched and own."""
    drawings: list[Drawing] = []
    for name in sets:
        take = own_sample if name in MAKERS else sample
        drawings += take(name, count, held_out=held_out, seed=seed)
    return drawings


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=60, help="drawings of each set")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--development", action="store_true", help="the drawings one may tune on")
    parser.add_argument("--conditions", default="abcdefg")
    parser.add_argument("--sets", default=",".join(ALL_SETS))
    parser.add_argument("--failures", action="store_true")
    asked = parser.parse_args()
    drawings = chosen(asked.sets.split(","), asked.sample, not asked.development, asked.seed)
    scores = [score(case) for case in cases(drawings, asked.conditions)]
    table(scores)
    if asked.failures:
        for s in scores:
            if not s.exact:
                t = s.case.truth
                print(
                    s.case.path.name,
                    "got",
                    s.count,
                    "truth",
                    t.count,
                    (t.low, t.high),
                    "" if s.in_range else "OUT",
                )


if __name__ == "__main__":
    main()
