"""What general palette tools count on the same files, beside artcheck.

Each gets the art as artcheck reads it, its background removed already, and may count from the
pixels as it likes. Tolerances are the best of a few tried on development drawings.

Run: ``python -m tests.benchmarks.bench_baselines [--sample N] [--seed S] [--development]``
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from skimage.color import rgb2lab
from sklearn.cluster import DBSCAN, KMeans
from sklearn.metrics import silhouette_score

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Artwork
from artcheck.domain.base import Lab
from artcheck.domain.measurements import InkMeasured, InksMeasured
from artcheck.measure.scan import Scan
from tests.benchmarks.bench_inks import ALL_SETS, HEAD, Score, cases, chosen, ours, row, score
from tests.benchmarks.conditions import CONDITIONS, WHITE

Bytes = NDArray[np.uint8]
Floats = NDArray[np.floating]

MOST_PIXELS = 100_000
"""Pixels that a baseline clusters; all of them would take minutes a file."""

LEAST_SHARE = 0.02
"""Share of the pixels under which a colour is left out as a blend: of .003, .01, .02 and .03, on
98 development files, the best for all three tools that take one."""

SILHOUETTE_PIXELS = 1500
"""Pixels from which the silhouette is computed: its time grows with their square."""


def inked(artwork: Artwork) -> Bytes:
    """(n, 3) the pixels that are mostly inked."""
    rgb = artwork.rgb[Scan(artwork).ink > 0]
    return np.asarray(rgb[:: max(1, len(rgb) // MOST_PIXELS)])


def measured(rgb: Floats, share: Floats) -> InksMeasured:
    """Colours (n, 3) 0-255 with their shares as a count like artcheck's."""
    kept = share >= LEAST_SHARE
    codes = np.rint(rgb[kept]).astype(np.uint8)
    labs = srgb8_to_lab(codes, np.float64).reshape(-1, 3)
    white = srgb8_to_lab(WHITE, np.float64)
    is_white = delta_e_2000(labs, white) < 2.0 if len(labs) else np.zeros(0, np.bool_)
    inks = tuple(
        InkMeasured(
            hex="#{:02x}{:02x}{:02x}".format(*code), lab=_lab(lab), share=min(1.0, float(part))
        )
        for code, lab, part in zip(codes, labs, share[kept], strict=True)
    )
    return InksMeasured(
        count=len(inks), count_without_white=len(inks) - int(is_white.sum()), inks=inks
    )


def _lab(lab: Floats) -> Lab:
    lightness, a, b = (float(value) for value in lab)
    return lightness, a, b


def kmeans_silhouette(artwork: Artwork) -> InksMeasured:
    """k-means in CIELAB for k = 2 ... 8; the k with the best silhouette."""
    rgb = inked(artwork)
    lab = rgb2lab(rgb[None] / 255.0)[0]
    best: tuple[float, NDArray[np.intp]] = (-2.0, np.zeros(len(lab), np.intp))
    for k in range(2, min(9, len(np.unique(rgb, axis=0)) + 1)):
        labels = KMeans(k, n_init=3, random_state=0).fit_predict(lab)
        if len(np.unique(labels)) < 2:
            continue
        some = min(SILHOUETTE_PIXELS, len(lab))
        value = float(silhouette_score(lab, labels, sample_size=some, random_state=0))
        best = max(best, (value, labels), key=lambda pair: pair[0])
    return _of_labels(rgb, best[1])


def _of_labels(rgb: Bytes, labels: NDArray[np.intp]) -> InksMeasured:
    count = np.bincount(labels)
    total = np.stack([np.bincount(labels, rgb[:, c]) for c in range(3)], axis=1)
    return measured(total / np.maximum(count, 1)[:, None], count / count.sum())


def median_cut_merged(artwork: Artwork, tolerance: float = 8.0) -> InksMeasured:
    """Sixteen colours by median cut; those within ``tolerance`` dE00 of a larger one join it."""
    rgb = inked(artwork)
    cut = Image.fromarray(rgb[None]).quantize(16, Image.Quantize.MEDIANCUT)
    palette = np.array(cut.getpalette(), np.uint8).reshape(-1, 3)[:16]
    share = np.bincount(np.asarray(cut).ravel(), minlength=len(palette))[: len(palette)]
    return _merged(palette, share / share.sum(), tolerance)


def fixed_tolerance(artwork: Artwork, tolerance: float = 18.0) -> InksMeasured:
    """Distinct colours, most frequent first, each joining the first within ``tolerance`` dE00."""
    rgb = inked(artwork) & 0xF8
    colours, count = np.unique(rgb, axis=0, return_counts=True)
    top = np.argsort(-count, kind="stable")[:2000]
    return _merged(colours[top] + 4, count[top] / count.sum(), tolerance)


def _merged(colours: Bytes, share: Floats, tolerance: float) -> InksMeasured:
    labs = srgb8_to_lab(np.ascontiguousarray(colours), np.float64)
    own: list[int] = []
    total = np.zeros(len(colours))
    for index in np.argsort(-share, kind="stable"):
        apart = delta_e_2000(labs[index], labs[own]) if own else np.array([np.inf])
        if apart.min() > tolerance:
            own.append(int(index))
            total[index] += share[index]
        else:
            total[own[int(apart.argmin())]] += share[index]
    return measured(colours[own].astype(np.float64), total[own])


def dbscan_histogram(artwork: Artwork, radius: float = 6.0) -> InksMeasured:
    """DBSCAN over the occupied bins of a 5-bit histogram, in CIELAB, weighted by their pixels."""
    rgb = inked(artwork)
    bins, inverse, count = np.unique(rgb >> 3, axis=0, return_inverse=True, return_counts=True)
    lab = rgb2lab((bins * 8 + 4)[None] / 255.0)[0]
    least = max(1, round(LEAST_SHARE * len(rgb)))
    found = DBSCAN(eps=radius, min_samples=least).fit(lab, sample_weight=count).labels_
    labels = found[inverse.ravel()]
    kept = labels >= 0
    if not kept.any():
        return measured(rgb.mean(axis=0, keepdims=True), np.ones(1))
    return _of_labels(rgb[kept], labels[kept])


COUNTS: dict[str, Callable[[Artwork], InksMeasured]] = {
    "artcheck": ours,
    "fixed tolerance, 18 dE00": fixed_tolerance,
    "k-means, silhouette, k 2-8": kmeans_silhouette,
    "median cut to 16, merged at 8 dE00": median_cut_merged,
    "DBSCAN on the histogram": dbscan_histogram,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=2, help="drawings of each set")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--development", action="store_true")
    asked = parser.parse_args()
    drawings = chosen(list(ALL_SETS), asked.sample, not asked.development, asked.seed)
    files = list(cases(drawings, "abcdefg"))
    print(HEAD)
    for name, count in COUNTS.items():
        scores: list[Score] = [score(case, count) for case in files]
        print(row(name, scores, None))
        for condition in CONDITIONS:
            mine = [s for s in scores if s.case.condition == condition]
            print(row(f"     {condition.key}", mine, None))


if __name__ == "__main__":
    main()
