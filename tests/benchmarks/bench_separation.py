"""Separate drawings that nobody here made, at their true inks, and compare with the drawing itself.

Run: ``python -m tests.benchmarks.bench_separation [--sample N] [--seed S] [--development]``

The truth is the drawing rendered without anti-aliasing at the output's resolution. Right: share of
the pixels farther than one pixel of the file from an edge of the truth that get the right ink.
Overlap: intersection over union of each plate with its truth, all alike and by area; plates
under 0.3 % of the art left out. On a white page a near-white shape cannot be told from paper, so an
ink within CIEDE2000 5 of white counts as right either way and has no plate.
"""

from __future__ import annotations

import argparse
import pickle
import time
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.separation import NO_INK, InkPlan, Loss, SpotInk
from artcheck.reading import read
from artcheck.separation.palette import mixed_ink
from artcheck.separation.regions import separate_regions
from tests.benchmarks.bench_inks import FOUND_WITHIN, Case, cases, chosen
from tests.benchmarks.conditions import INK_SHARE, TRUTH_PX, WHITE, render, truth_of
from tests.benchmarks.drawn_sets import FLAT_SETS

FACTORS = {"a": 2, "d": 3}
"""Output pixels per pixel of the file, by state."""
TARGETS = {"a": (0.999, 0.99), "d": (0.995, 0.98)}
NO_LOSS = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)


@dataclass(frozen=True)
class Score:
    """One separation against the truth. ``plates``: (overlap, share of the art) of each."""

    case: Case
    right: float
    plates: tuple[tuple[float, float], ...]
    seconds: float


def cutout_of(path: Path) -> Cutout:
    from artcheck.measure.scan import Scan

    artwork = read(path)
    scan = Scan(artwork)
    removed = artwork.background.kind == "removed"
    return Cutout(
        rgb=artwork.rgb,
        coverage=scan.coverage,
        box=scan.box,
        paper_hex=artwork.background.hex if removed else None,
    )


def true_inks(case: Case) -> tuple[SpotInk, ...]:
    truth = truth_of(render(case.drawing.svg(TRUTH_PX), crisp=True), without_white=False)
    return tuple(mixed_ink((float(c), float(a), float(b))) for c, a, b in truth.lab)


def true_labels(case: Case, cutout: Cutout, inks: tuple[SpotInk, ...]) -> NDArray[np.uint8]:
    factor = FACTORS[case.condition.key]
    crisp = np.asarray(render(case.drawing.svg(case.condition.size_px * factor), crisp=True))
    row0, col0, row1, col1 = (factor * edge for edge in cutout.box)
    crisp = crisp[row0:row1, col0:col1]
    colours, index = np.unique(crisp[..., :3].reshape(-1, 3), axis=0, return_inverse=True)
    lab = srgb8_to_lab(colours, np.float64)
    apart = delta_e_2000(np.array([ink.lab for ink in inks]).reshape(-1, 1, 3), lab[None])
    labels = apart.argmin(axis=0).astype(np.uint8)[index.reshape(crisp.shape[:2])]
    labels[crisp[..., 3] < 128] = NO_INK
    return np.asarray(labels, np.uint8)


def true_separation(case: Case, cutout: Cutout) -> tuple[NDArray[np.uint8], tuple[SpotInk, ...]]:
    """Labels and inks of the drawing, made once."""
    path = case.path.with_suffix(".labels")
    if path.exists():
        box, labels, inks = pickle.loads(path.read_bytes())
        if box == cutout.box:
            return labels, inks
    inks = true_inks(case)
    labels = true_labels(case, cutout, inks)
    path.write_bytes(pickle.dumps((cutout.box, labels, inks)))
    return labels, inks


def separated(
    case: Case,
) -> tuple[NDArray[np.uint8], NDArray[np.uint8], tuple[SpotInk, ...], float]:
    """Labels as separated and in truth, the inks, and the seconds it took."""
    cutout = cutout_of(case.path)
    truth, inks = true_separation(case, cutout)
    plan = InkPlan(inks=inks, loss=NO_LOSS, locked=())
    width = cutout.box[3] - cutout.box[1]
    start = time.perf_counter()
    got = separate_regions(
        cutout,
        plan,
        ppi=100.0 * FACTORS[case.condition.key],
        width_in=width / 100,
        garment_lab=None,
    )
    seconds = time.perf_counter() - start
    return got.labels, truth, inks, seconds


def score(case: Case) -> Score:
    labels, truth, inks, seconds = separated(case)
    factor = FACTORS[case.condition.key]
    square = np.ones((2 * factor + 1,) * 2, np.uint8)
    inner = cv2.dilate(truth, square) == cv2.erode(truth, square)
    right = labels == truth
    white = set()
    if case.condition.white_page:
        apart = delta_e_2000(np.array([ink.lab for ink in inks]), srgb8_to_lab(WHITE, np.float64))
        white = {number for number in range(len(inks)) if apart[number] < FOUND_WITHIN}
        for number in white:
            right |= (truth == number) & (labels == NO_INK)
            right |= (truth == NO_INK) & (labels == number)
    plates = []
    for number in range(len(inks)):
        ours, theirs = labels == number, truth == number
        share = theirs.sum() / max(1, (truth != NO_INK).sum())
        if number not in white and share >= INK_SHARE:
            plates.append((float((ours & theirs).sum() / (ours | theirs).sum()), float(share)))
    return Score(case, float(right[inner].mean()), tuple(plates), seconds)


def table(scores: list[Score]) -> None:
    print(
        f"{'state, set':32} files  right  worst  passing  overlap: mean  median  5th pct  passing"
        "  by area: mean  passing    time"
    )
    for key, (right_target, overlap_target) in TARGETS.items():
        for name in (*FLAT_SETS, None):
            mine = [
                s
                for s in scores
                if s.case.condition.key == key and name in (None, s.case.drawing.set_name)
            ]
            if not mine:
                continue
            right = np.array([s.right for s in mine])
            plates = np.array([plate for s in mine for plate in s.plates])
            overlap, share = plates[:, 0], plates[:, 1]
            lowest = np.percentile(overlap, 5)
            passing = overlap >= overlap_target
            print(
                f"{key} {name or mine[0].case.condition.title:30} {len(mine):5} {right.mean():.4f}"
                f" {right.min():.4f} {(right >= right_target).mean():8.3f}"
                f" {overlap.mean():14.4f} {np.median(overlap):7.4f} {lowest:8.4f}"
                f" {passing.mean():8.3f} {np.average(overlap, weights=share):14.4f}"
                f" {np.average(passing, weights=share):8.3f}"
                f" {1000 * np.median([s.seconds for s in mine]):6.0f} ms"
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=15, help="drawings of each set")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--development", action="store_true", help="the drawings one may tune on")
    parser.add_argument("--failures", action="store_true")
    asked = parser.parse_args()
    drawings = chosen(list(FLAT_SETS), asked.sample, not asked.development, asked.seed)
    scores = [score(case) for case in cases(drawings, "".join(FACTORS))]
    table(scores)
    if asked.failures:
        for s in sorted(scores, key=lambda s: s.right)[:20]:
            print(s.case.path.name, f"{s.right:.4f}", [f"{o:.3f}/{p:.3f}" for o, p in s.plates])


if __name__ == "__main__":
    main()
