"""True resolution of drawings and photographs enlarged by known factors, beside the targets.

Run: ``python -m tests.benchmarks.bench_sharpness [--sample N] [--seed S] [--development]``
(``--misses`` names every miss).

Sources are drawings rendered with anti-aliasing at 300 px and photographs reduced to half, so that
nobody's camera stands between them and their pixel grid. Originals, for false alarms, are those
sources, and the same reduced once more.
"""

from __future__ import annotations

import argparse
import io
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.measurements import SharpnessMeasured
from artcheck.measure.sharpness import measure_sharpness
from tests.benchmarks.conditions import render
from tests.benchmarks.drawn_sets import FADE_SET, FLAT_SETS, sample
from tests.measure import drawn

Bytes = NDArray[np.uint8]

SOURCE_PX = 300
FACTORS = (1.5, 2.0, 2.7, 3.0, 4.0)
TARGET_FACTORS = (2.0, 3.0, 4.0)
FILTERS = {
    "nearest": Image.Resampling.NEAREST,
    "bilinear": Image.Resampling.BILINEAR,
    "bicubic": Image.Resampling.BICUBIC,
    "Lanczos": Image.Resampling.LANCZOS,
}
SAVED = (None, 90, 75)
MEDIAN_TARGET, WITHIN_20_TARGET = 0.06, 0.90
ALARM_BELOW = 0.85
"""True scale under which a report calls art enlarged."""


@dataclass(frozen=True)
class Score:
    source: str
    factor: float
    filter: str
    quality: int | None
    measured: SharpnessMeasured | None
    seconds_per_mp: float

    @property
    def error(self) -> float:
        """Relative error of the true scale; infinite where nothing was said."""
        return np.inf if self.measured is None else abs(self.measured.true_scale * self.factor - 1)


def _sources(count: int, seed: int, held_out: bool) -> Iterator[tuple[str, Bytes]]:
    for set_name in (*FLAT_SETS, FADE_SET):
        for drawing in sample(set_name, count, held_out=held_out, seed=seed, flat_only=False):
            yield f"{set_name}/{drawing.name}", np.asarray(render(drawing.svg(SOURCE_PX)))
    for name in drawn.PHOTOGRAPHS:
        whole = drawn.photograph(name)
        half = whole.shape[1] // 2, whole.shape[0] // 2
        yield f"photo/{name}", drawn.resized(whole, *half, Image.Resampling.LANCZOS)


def _saved(pixels: Bytes, quality: int | None) -> Bytes:
    """As a PNG gives it back, or as a JPEG on white does."""
    if quality is None:
        return pixels
    out = io.BytesIO()
    Image.fromarray(drawn.on_white(pixels)).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(out))


def _score(source: str, pixels: Bytes, factor: float, how: str) -> Iterator[Score]:
    size = round(pixels.shape[1] * factor), round(pixels.shape[0] * factor)
    enlarged = pixels if factor == 1 else drawn.resized(pixels, *size, FILTERS[how])
    for quality in SAVED:
        scan = drawn.scan_of(_saved(enlarged, quality))
        _ = scan.box
        start = time.perf_counter()
        measured = measure_sharpness(scan)
        spent = (time.perf_counter() - start) / (size[0] * size[1] / 1e6)
        yield Score(source, factor, how, quality, measured, spent)


def _originals(source: str, pixels: Bytes) -> Iterator[Score]:
    yield from _score(source, pixels, 1.0, "original")
    for how, by in (("bicubic", 0.6), ("Lanczos", 0.45)):
        size = round(pixels.shape[1] * by), round(pixels.shape[0] * by)
        reduced = drawn.resized(pixels, *size, FILTERS[how])
        yield from _score(source, reduced, 1.0, f"reduced, {how}")


def _line(label: str, scores: list[Score]) -> str:
    errors = np.array([s.error for s in scores])
    return f"{label:34s} {len(scores):5d}   {np.median(errors):.3f}   {np.mean(errors <= 0.2):.3f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=8, help="drawings a set")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--development", action="store_true", help="the drawings tuned on")
    parser.add_argument("--misses", action="store_true", help="name every miss")
    options = parser.parse_args()
    scores: list[Score] = []
    for source, pixels in _sources(options.sample, options.seed, not options.development):
        scores.extend(_originals(source, pixels))
        for factor in FACTORS:
            for how in FILTERS:
                scores.extend(_score(source, pixels, factor, how))
    originals = [s for s in scores if s.factor == 1]
    enlarged = [s for s in scores if s.factor > 1]
    print(f"targets: median error <= {MEDIAN_TARGET}, within 20 % >= {WITHIN_20_TARGET}, no alarm")
    print(f"{'':34s} {'files':>5s}   median  within 20 %")
    of_target = [s for s in enlarged if s.factor in TARGET_FACTORS and s.filter != "bilinear"]
    print(_line("x2, x3, x4, without bilinear", of_target))
    print(_line("all factors", enlarged))
    for quality in SAVED:
        print(_line(f"  saved {quality or 'PNG'}", [s for s in enlarged if s.quality == quality]))
    for factor in FACTORS:
        for how in FILTERS:
            some = [s for s in enlarged if s.factor == factor and s.filter == how]
            print(_line(f"  x{factor:g} {how}", some))
    for group in (*FLAT_SETS, FADE_SET, "photo"):
        print(_line(f"  {group}", [s for s in enlarged if s.source.startswith(group + "/")]))
    alarms = [s for s in originals if s.measured and s.measured.true_scale < ALARM_BELOW]
    print(f"false alarms on originals: {len(alarms)} of {len(originals)}")
    print(f"seconds a megapixel, mean: {np.mean([s.seconds_per_mp for s in scores]):.3f}")
    for s in [*alarms, *(s for s in enlarged if s.error > 0.2)] if options.misses else alarms:
        got = s.measured and f"{s.measured.true_scale:.3f} by {s.measured.method}"
        print(f"{s.source} x{s.factor:g} {s.filter} {s.quality or 'PNG'}: {got}")


if __name__ == "__main__":
    main()
