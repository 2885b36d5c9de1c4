"""Tone of drawings, fades, flags, letters, worn prints and photographs in every state.

Run: ``python -m tests.benchmarks.bench_tone [--sample N] [--seed S] [--development] [--misses]``

Truth of a drawing: every element is painted in a colour of its own, without anti-aliasing; those
painted by a gradient (or blurred) whose visible colours span at least `VARIES` levels make up the
gradient share. Drawings between `FLAT_BELOW` and `GRADIENT_FROM` are either, and are left out of
the recall; art of the script's own has its truth by construction.
"""

from __future__ import annotations

import argparse
import time
import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from PIL import Image

from artcheck.domain.measurements import ToneMeasured
from artcheck.measure.scan import Scan
from artcheck.measure.tone import measure_tone
from artcheck.reading import read
from tests.benchmarks.conditions import CONDITIONS, Condition, render
from tests.benchmarks.drawn_sets import FADE_SET, FLAT_SETS, Drawing, cache_folder, sample
from tests.measure import drawn

TRUTH_PX = 512
VARIES = 12.0
FLAT_BELOW, GRADIENT_FROM = 0.005, 0.02
RECALL_TARGET, SHARE_TARGET = 0.97, 0.05
SVG = "{http://www.w3.org/2000/svg}"
SHAPES = {"path", "circle", "ellipse", "rect", "polygon", "polyline", "line"}
NOT_DRAWN = {"defs", "mask", "clipPath", "filter", "linearGradient", "radialGradient"}


@dataclass(frozen=True)
class Piece:
    """One picture with its truth; None where there is none to compare."""

    name: str
    kind: str
    picture: Image.Image
    gradient_share: float | None
    photo_share: float
    drawing: Drawing | None = None


@dataclass(frozen=True)
class Score:
    piece: Piece
    condition: Condition
    measured: ToneMeasured
    seconds: float


# --- truth of a drawing -------------------------------------------------------------------------


def _name_elements(element: ET.Element, fill: str, stroke: str, blurred: bool) -> Iterator[bool]:
    """Paint every shape in its own colour; yield, shape by shape, whether it was a fade."""
    tag = element.tag.removeprefix(SVG)
    if tag in NOT_DRAWN:
        return
    fill, stroke = element.get("fill", fill), element.get("stroke", stroke)
    blurred = blurred or "filter" in element.attrib
    sheer = float(element.get("opacity", 1)) * float(element.get("fill-opacity", 1)) < 1
    for key in ("filter", "opacity", "fill-opacity", "stroke-opacity", "style"):
        element.attrib.pop(key, None)
    if tag in SHAPES:
        fades = blurred or "url(" in fill or "url(" in stroke
        if sheer and not fades:
            element.set("fill", "none")
            element.set("stroke", "none")
        yield fades
        return
    for child in element:
        yield from _name_elements(child, fill, stroke, blurred)


def _code(number: int) -> str:
    return f"#{(number * 2654435) % 0xFFFFFF:06x}"


def _paint(element: ET.Element, fill: str, stroke: str, numbers: Iterator[int]) -> None:
    """Give every shape the code of its number."""
    tag = element.tag.removeprefix(SVG)
    if tag in NOT_DRAWN:
        return
    fill, stroke = element.get("fill", fill), element.get("stroke", stroke)
    if tag in SHAPES:
        code = _code(next(numbers))
        if fill != "none":
            element.set("fill", code)
        if stroke != "none":
            element.set("stroke", code)
    for child in element:
        _paint(child, fill, stroke, numbers)


def gradient_truth(drawing: Drawing) -> float:
    """Share of the ink in shapes that a gradient fills and whose colours vary."""
    svg = drawing.svg(TRUTH_PX)
    seen = np.asarray(render(svg))
    root = ET.fromstring(svg)
    fades = list(_name_elements(root, "#000", "none", False))
    _paint(root, "#000", "none", iter(range(1, len(fades) + 1)))
    ET.register_namespace("", SVG.strip("{}"))
    coded = np.asarray(render(ET.tostring(root, encoding="unicode"), crisp=True)).astype(np.int64)
    code = (coded[..., 0] << 16) | (coded[..., 1] << 8) | coded[..., 2]
    drawn_there = (coded[..., 3] > 127) & (seen[..., 3] > 127)
    varying = np.zeros(code.shape, bool)
    for number, is_fade in enumerate(fades, 1):
        if not is_fade:
            continue
        shape = drawn_there & (code == int(_code(number)[1:], 16))
        if (
            shape.sum() >= 8
            and np.ptp(np.percentile(seen[shape][:, :3], [5, 95], axis=0), axis=0).max() > VARIES
        ):
            varying |= shape
    ink = seen[..., 3].astype(float)
    return float((ink * varying).sum() / max(ink.sum(), 1.0))


# --- pieces -------------------------------------------------------------------------------------


def _drawings(count: int, seed: int, held_out: bool) -> Iterator[Piece]:
    for set_name in (*FLAT_SETS, FADE_SET):
        many = 3 * count if set_name == FADE_SET else count
        for drawing in sample(set_name, many, held_out=held_out, seed=seed, flat_only=False):
            share = gradient_truth(drawing)
            kind = "flat" if share < FLAT_BELOW else "gradient" if share >= GRADIENT_FROM else "-"
            picture = render(drawing.svg(TRUTH_PX))
            yield Piece(f"{set_name}/{drawing.name}", kind, picture, share, 0.0, drawing)


FADES = (
    ((255, 120, 0), (255, 220, 60)),
    ((10, 20, 90), (80, 160, 255)),
    ((30, 30, 30), (220, 220, 220)),
    ((200, 0, 60), (90, 0, 160)),
    ((120, 140, 150), (150, 170, 180)),
)
STRIPES: list[list[tuple[int, int, int]]] = [
    [(0, 90, 60), (250, 250, 250), (200, 30, 40)],
    [(20, 40, 120), (255, 205, 0), (190, 20, 30)],
    [(0, 0, 0), (220, 0, 0), (255, 200, 0)],
    [(0, 120, 200), (240, 240, 240)] * 5,
]


def _own(seed: int) -> Iterator[Piece]:
    for kind in ("linear", "diagonal", "radial"):
        for number, (first, last) in enumerate(FADES):
            pixels = drawn.fade(kind, first, last, 1000)
            yield Piece(f"fade/{kind}{number}", "gradient", Image.fromarray(pixels), 1.0, 0.0)
        pixels = drawn.fade(kind, FADES[1][0], FADES[1][0], 1000, vanishing=True)
        yield Piece(f"fade/{kind}-vanishing", "gradient", Image.fromarray(pixels), 1.0, 0.0)
    for number, stripes in enumerate(STRIPES):
        for upright in (False, True):
            pixels = drawn.flag(stripes, 1000, upright=upright)
            yield Piece(f"flag/{number}{upright}", "flat", Image.fromarray(pixels), 0.0, 0.0)
    for number in range(6):
        pixels = drawn.worn(seed * 100 + number, 1000)
        yield Piece(f"worn/{number}", "flat", Image.fromarray(pixels), 0.0, 0.0)
    for number in range(6):
        pixels = drawn.lettering(seed * 100 + number, 1000)
        yield Piece(f"lettering/{number}", "flat", Image.fromarray(pixels), 0.0, 0.0)
    for period, angle in ((25.0, 22.5), (30.0, 45.0)):
        pixels = drawn.screened(period, angle, 1000)
        yield Piece(f"screen/{period:g}", "flat", Image.fromarray(pixels), 0.0, 0.0)


def _photographs() -> Iterator[Piece]:
    grounds = [drawn.flag(stripes, 1000) for stripes in STRIPES]
    for number, name in enumerate(drawn.PHOTOGRAPHS):
        pixels = drawn.photograph(name)
        yield Piece(f"photo/{name}", "photo", Image.fromarray(pixels).convert("RGBA"), None, 1.0)
        share = (0.06, 0.12, 0.25, 0.4)[number % 4]
        mixed, true_share = drawn.with_photograph(grounds[number % len(grounds)], name, share)
        yield Piece(f"inset/{name}", "photo", Image.fromarray(mixed), None, true_share)


# --- scoring ------------------------------------------------------------------------------------


def _file(piece: Piece, condition: Condition) -> bytes:
    """The piece in one state."""
    if piece.drawing is not None:
        return condition.make(render(piece.drawing.svg(condition.size_px)))
    scale = condition.size_px / max(piece.picture.size)
    size = (round(piece.picture.width * scale), round(piece.picture.height * scale))
    return condition.make(piece.picture.resize(size, Image.Resampling.LANCZOS))


def score(piece: Piece, condition: Condition) -> Score:
    path = cache_folder() / "tone.art"
    path.write_bytes(_file(piece, condition))
    artwork = read(path, background="keep" if piece.name.startswith("photo/") else "auto")
    scan = Scan(artwork)
    _ = scan.box
    start = time.perf_counter()
    measured = measure_tone(scan)
    return Score(piece, condition, measured, time.perf_counter() - start)


def _line(label: str, scores: list[Score]) -> str:
    right = [s.measured.kind == s.piece.kind for s in scores]
    gradient = [
        abs(s.measured.gradient_share - s.piece.gradient_share)
        for s in scores
        if s.piece.gradient_share is not None
    ]
    photo = [abs(s.measured.photo_share - s.piece.photo_share) for s in scores]
    share = f"{np.mean(gradient):.3f}" if gradient else "  -  "
    return f"{label:28s} {len(scores):5d}   {np.mean(right):.3f}    {share}    {np.mean(photo):.3f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=25, help="drawings a flat set (fades: x3)")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--development", action="store_true", help="the drawings tuned on")
    parser.add_argument("--misses", action="store_true", help="name every miss")
    options = parser.parse_args()
    pieces = [*_drawings(options.sample, options.seed, not options.development)]
    pieces += [*_own(options.seed), *_photographs()]
    scores = [score(piece, condition) for piece in pieces for condition in CONDITIONS]
    print(f"targets: recall >= {RECALL_TARGET}, gradient share error <= {SHARE_TARGET}")
    print(f"{'class, state':28s} {'files':>5s}   recall   gradient share   photo share error")
    for kind in ("flat", "gradient", "photo"):
        of_kind = [s for s in scores if s.piece.kind == kind]
        print(_line(f"{kind}, all", of_kind))
        for condition in CONDITIONS:
            print(
                _line(
                    f"  {condition.key}: {condition.title}",
                    [s for s in of_kind if s.condition is condition],
                )
            )
    print(_line("everything", scores))
    by_source: dict[str, list[Score]] = defaultdict(list)
    for s in scores:
        by_source[s.piece.name.split("/")[0]].append(s)
    for source, many in by_source.items():
        print(_line(source, many))
    print(f"seconds a file, mean: {np.mean([s.seconds for s in scores]):.3f}")
    if options.misses:
        _print_misses(scores)


def _print_misses(scores: list[Score]) -> None:
    for s in scores:
        truth, got = s.piece.gradient_share, s.measured
        off = truth is not None and abs(got.gradient_share - truth) > 0.15
        if (got.kind != s.piece.kind and s.piece.kind != "-") or off:
            want = "-" if truth is None else f"{truth:.2f}"
            print(
                f"{s.condition.key} {s.piece.name}: {s.piece.kind} {want}/{s.piece.photo_share:.2f}"
                f" -> {got.kind} {got.gradient_share:.2f}/{got.photo_share:.2f}"
            )


if __name__ == "__main__":
    main()
