"""Whole jobs: art to plates, proof measured again, files written.

Drawings of two sets, clean and as JPEG quality 60, in as few inks as the demo's spot method prints:
do the inks come back, is the verdict no worse? Each plate's traced outline, drawn again by resvg,
is compared with the plate. Then a sheet of 12 x 15 in at 600 ppi in four inks, in a process of its
own, for its time and memory.

Run: ``python -m tests.benchmarks.bench_job [--sample N]``
"""

from __future__ import annotations

import argparse
import io
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import resvg_py
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.separating import SeparationOptions
from artcheck.errors import UsageError
from artcheck.pipeline import separate
from artcheck.report.drawing import path_of
from artcheck.separation.job import SeparationJob
from artcheck.shop import load_shop
from tests.art import on_white
from tests.benchmarks.drawn_sets import sample

SETS = ("flat-color-icons", "fluent-emoji-flat")
RANK = ("suits", "suits_with_changes", "unsuitable")
SHEET_PX = (3600, 4500)
SHEET_INKS = ("#d2232f", "#0e51ba", "#efb71b", "#141414")


def arts(count: int, folder: Path) -> Iterator[Path]:
    """Drawings of 900 px, each as PNG and as JPEG."""
    for name in SETS:
        for drawing in sample(name, count, held_out=True, seed=6):
            png = bytes(resvg_py.svg_to_bytes(svg_string=drawing.svg(900)))
            image = Image.open(io.BytesIO(png)).convert("RGBA")
            for kind in ("png", "jpg"):
                path = folder / f"{drawing.name}.{kind}"
                if kind == "jpg":
                    on_white(image).save(path, quality=60)
                else:
                    image.save(path)
                yield path


def job_of(art: Path) -> SeparationJob | None:
    order = Order(
        garment=Garment(kind="tee", colour="navy", fabric="cotton", quantity=60),
        prints=(Print(art=str(art), width_in=4),),
    )
    try:
        return separate(order, load_shop(), SeparationOptions(method="spot"))
    except UsageError as refused:
        print(f"{art.name} refused: {refused}", file=sys.stderr)
        return None


def print_drawings(count: int) -> None:
    print(
        f"{'art':4} {'jobs':>5} {'as many inks':>13} {'no worse':>9} {'refused':>8} {'s each':>7}"
    )
    with tempfile.TemporaryDirectory() as folder:
        scores: dict[str, Counter[str]] = {}
        traced: list[tuple[float, float]] = []
        for art in arts(count, Path(folder)):
            score = scores.setdefault(art.suffix[1:], Counter())
            start = time.perf_counter()
            job = job_of(art)
            score["ms"] += round(1000 * (time.perf_counter() - start))
            if job is None or job.plates is None:
                score["refused"] += 1
                continue
            before, after = job.comparison.before, job.comparison.after
            made = sum(1 for plate in job.plates.plates if plate.role == "ink")
            score["jobs"] += 1
            traced += [trace_score(plate.mask) for plate in job.plates.plates]
            score["inks"] += after.inks == made
            score["no worse"] += RANK.index(after.verdict) <= RANK.index(before.verdict)
        for kind, score in scores.items():
            jobs = max(score["jobs"], 1)
            print(
                f"{kind:4} {jobs:5} {score['inks'] / jobs:13.1%} {score['no worse'] / jobs:9.1%}"
                f" {score['refused']:8} {score['ms'] / 1000 / jobs:7.2f}"
            )
    print_traced(traced)


def trace_score(plate: NDArray[np.bool_]) -> tuple[float, float]:
    """Overlap of the plate and its outline drawn again; depth of the deepest wrong pixel."""
    height, width = plate.shape
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
    path = f'<path fill-rule="evenodd" d="{path_of(plate)}"/>'
    png = bytes(resvg_py.svg_to_bytes(svg_string=f"{svg}{path}</svg>"))
    again = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[..., 3] > 127
    deepest = 0.0
    for wrong, side in ((plate & ~again, plate), (again & ~plate, ~plate)):
        framed = np.pad(side, 1).astype(np.uint8)
        depth = cv2.distanceTransform(framed, cv2.DIST_L2, 5)[1:-1, 1:-1]
        deepest = max(deepest, float(depth[wrong].max(initial=0)))
    return float((plate & again).sum() / (plate | again).sum()), deepest


def print_traced(traced: list[tuple[float, float]]) -> None:
    overlap, deepest = (np.array(column) for column in zip(*traced, strict=True))
    print(
        f"\n{len(traced)} plates traced: overlap (IoU) median {np.median(overlap):.4f}, least"
        f" {overlap.min():.4f} (target 0.985); farthest from the outline {deepest.max():.1f} px"
        " (target 1.5)"
    )


def sheet(folder: Path) -> Path:
    """Discs, polygons and words of four inks over one another."""
    chance, (width, height) = random.Random(4), SHEET_PX
    body = [f'<path d="M0 0H{width}V{height}H0Z" fill="none" stroke="#141414" stroke-width="20"/>']
    for index in range(320):
        x, y, reach = chance.randint(0, width), chance.randint(0, height), chance.randint(30, 420)
        fill = f'fill="{chance.choice(SHEET_INKS)}"'
        if index % 3 == 0:
            body.append(f'<circle cx="{x}" cy="{y}" r="{reach}" {fill}/>')
        elif index % 3 == 1:
            points = " ".join(
                f"{x + chance.randint(-reach, reach)},{y + chance.randint(-reach, reach)}"
                for _ in range(7)
            )
            body.append(f'<polygon points="{points}" {fill}/>')
        else:
            body.append(f'<text x="{x}" y="{y}" font-size="{reach / 2}" {fill}>Words</text>')
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
    path = folder / "sheet.png"
    path.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=f"{svg}{''.join(body)}</svg>")))
    return path


def print_sheet() -> None:
    with tempfile.TemporaryDirectory() as folder:
        art, out = sheet(Path(folder)), Path(folder) / "job"
        command = [sys.executable, "-m", "artcheck", "separate", str(art), "--out", str(out)]
        command += ["--width", "12in", "--inks", "4", "--method", "spot", "--quantity", "50"]
        start = time.perf_counter()
        subprocess.run([*command, "--garment-colour", "natural"], check=True, capture_output=True)
        seconds = time.perf_counter() - start
        # Of all children so far, in KiB on Linux; this one is by far the largest.
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 2**20
        weight = sum(file.stat().st_size for file in out.rglob("*") if file.is_file()) / 1e6
    print(f"\n12 x 15 in, 600 ppi, 4 plates, {SHEET_PX[0]} x {SHEET_PX[1]} px of art:")
    print(f"{seconds:.1f} s, {peak:.2f} GiB, {weight:.1f} MB written (targets: 60 s, 3 GiB)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=20, metavar="N", help="drawings of each set")
    print_drawings(parser.parse_args().sample)
    print_sheet()


if __name__ == "__main__":
    main()
