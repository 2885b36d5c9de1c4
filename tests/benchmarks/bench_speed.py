"""Time and memory of checking, as ratios to other work on the same files in the same run.

Run: ``python -m tests.benchmarks.bench_speed [--roll]``; two minutes, and with ``--roll`` (a sheet
of 22 x 60 in at 300 ppi) one more.

Processor seconds of one core; every ratio is the median of rounds in which both were timed one
after the other. The drawing is the demo's league logo at the sizes named, the photograph
scikit-image's coffee tiled to 24 megapixels. KMeans is the usual way: Lab of the whole picture,
then on a sample of it k of 2 to 8 by silhouette.
"""

from __future__ import annotations

import argparse
import compileall
import io
import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

import artcheck
from artcheck import pipeline
from artcheck.report.journal import JOURNAL_NAME
from artcheck.shop import load_order, load_shop

ROUNDS = 5
COLD_ROUNDS = 9
GROWTH_MP = (1, 4, 16, 64)
ROLL_PX, HUGE_PX = (6600, 18000), (14470, 39400)
FILES = 40
KMEANS_PX = 20_000
SILHOUETTE_PX = 2_000

ONLY_CHILD = """
import resource, subprocess, sys
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
peak = used.ru_maxrss / 2**20
print(f"{used.ru_utime + used.ru_stime:.1f} s, peak {peak:.2f} GiB, exit {code}")
"""
"""A child's peak begins with that of the process it was split from: this one holds nothing."""


def seconds(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def side_by_side(*works: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """Median seconds of the first, then how many times as long each other took."""
    taken = [[seconds(work) for work in works] for _ in range(rounds)]
    ratios = [statistics.median(row[n] / row[0] for row in taken) for n in range(1, len(works))]
    return [statistics.median(row[0] for row in taken), *ratios]


def drawing(megapixels: float, folder: Path, *, paper: bool = False) -> Path:
    import resvg_py

    art = resources.files("artcheck") / "demo" / "art" / "1-league-logo.svg"
    text = art.read_text("utf-8").replace('width="3.5in" height="3in"', 'width="1050" height="900"')
    width = round(math.sqrt(megapixels * 1e6 * 1050 / 900))
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, width=width))
    image = Image.open(io.BytesIO(png)).convert("RGBA")
    path = folder / f"{megapixels:g}{'-paper' if paper else ''}.png"
    if paper:
        page = Image.new("RGB", image.size, "white")
        page.paste(image, mask=image.getchannel("A"))
        image = page
    image.save(path, dpi=(300, 300))
    return path


def photograph(folder: Path) -> Path:
    from skimage import data

    tile = data.coffee()
    tile = np.concatenate([tile, tile[:, ::-1]], axis=1)
    tile = np.concatenate([tile, tile[::-1]])
    path = folder / "photo.jpg"
    pixels = np.tile(tile, (5, 5, 1))[:4000, :6000]
    Image.fromarray(pixels).save(path, quality=90, dpi=(300, 300))
    return path


def decode(path: Path) -> Image.Image:
    with Image.open(path) as image:
        image.load()
        return image.copy() if image.mode == "P" else image


def kmeans(image: Image.Image) -> int:
    from skimage.color import rgb2lab
    from sklearn.cluster import KMeans
    from sklearn.metrics import silhouette_score

    lab = rgb2lab(np.asarray(image.convert("RGB"))).reshape(-1, 3)
    some = lab[:: max(len(lab) // KMEANS_PX, 1)]
    few = some[:: max(len(some) // SILHOUETTE_PX, 1)]
    scores = {}
    for k in range(2, 9):
        model = KMeans(k, n_init=3, random_state=0).fit(some)
        labels = model.predict(few)
        scores[k] = silhouette_score(few, labels) if len(set(labels)) > 1 else -1.0
    return max(scores, key=lambda k: scores[k])


def peak_ratio(path: Path) -> float:
    """Peak memory above the idle process over the RGBA array, in a process of its own.

    From /proc: what getrusage tells begins with the parent's peak.
    """
    code = (
        "import sys, pathlib; from artcheck import pipeline\n"
        "def kb(key): return int(pathlib.Path('/proc/self/status').read_text()"
        ".split(key + ':')[1].split()[0])\n"
        "first, second = map(pathlib.Path, sys.argv[1:])\n"
        "pipeline.measure_file(first)\n"
        "idle = kb('VmRSS')\n"
        "pixels = pipeline.measure_file(second).pixels\n"
        "print((kb('VmHWM') - idle) * 1024 / (4 * pixels[0] * pixels[1]))"
    )
    small = drawing(0.25, path.parent)
    command = [sys.executable, "-c", code, str(small), str(path)]
    return float(subprocess.run(command, capture_output=True, check=True, text=True).stdout)


def one_file(words: str, path: Path) -> None:
    decoding, checking = side_by_side(lambda: decode(path), lambda: pipeline.measure_file(path))
    print(
        f"{words:28} decoding {decoding:5.2f} s   measuring, with it {checking:5.2f} x"
        f"   peak {peak_ratio(path):4.2f} x RGBA"
    )


def others(words: str, path: Path) -> None:
    image = decode(path).convert("RGB")
    _, checking, quantizing, clustering = side_by_side(
        lambda: decode(path),
        lambda: pipeline.measure_file(path),
        lambda: image.quantize(16),
        lambda: kmeans(image),
        rounds=1,
    )
    print(
        f"{words:28} in decodings: measuring all {checking:.1f}, quantize(16) alone"
        f" {quantizing:.1f}, Lab and KMeans alone {clustering:.1f}"
    )


def growth(folder: Path) -> None:
    taken = {}
    for megapixels in GROWTH_MP:
        path = drawing(megapixels, folder)
        taken[megapixels] = statistics.median(
            seconds(lambda path=path: pipeline.measure_file(path))  # type: ignore[misc]
            for _ in range(3)
        )
    each, start = np.polyfit(
        list(taken), list(taken.values()), 1, w=1 / np.array([*taken.values()])
    )
    slope = np.polyfit(np.log(list(taken)), np.log(list(taken.values())), 1)[0]
    told = ", ".join(f"{mp} MP {s:.2f} s" for mp, s in taken.items())
    print(f"growth: {told}; log-log slope {slope:.2f}")
    print(f"a line through these: {start:.2f} s a file and {each:.3f} s a megapixel")


def crews(folder: Path) -> None:
    """Wall time of whole runs, processes' start included."""
    art = folder / "many"
    art.mkdir()
    data = drawing(4, folder).read_bytes()
    for n in range(FILES):
        (art / f"{n:02}.png").write_bytes(data)
    taken = {}
    for workers in (1, 2):
        out = folder / f"out{workers}"
        command = [sys.executable, "-m", "artcheck", "batch", str(art), "--out", str(out)]
        began = time.monotonic()
        command += ["--workers", str(workers), "--width", "9in", "--quantity", "24"]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        taken[workers] = time.monotonic() - began
        assert (out / JOURNAL_NAME).exists()
    print(
        f"batch of {FILES} files of 4 MP: one worker {taken[1]:.1f} s, two {taken[2]:.1f} s:"
        f" {taken[1] / taken[2]:.2f} x"
    )


def cold(folder: Path) -> None:
    """Processor seconds of processes of their own, bytecode written as an installation has it."""
    compileall.compile_dir(str(Path(artcheck.__file__).parent), quiet=1)
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}

    def once(arguments: list[str]) -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, *arguments]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    order = ["--width", "4in", "--quantity", "24"]
    commands = [
        ["-c", "import numpy, PIL.Image, cv2, pydantic, typer"],
        ["-m", "artcheck", "check", str(drawing(1, folder)), *order],
        ["-m", "artcheck", "--help"],
    ]
    taken = [[once(command) for command in commands] for _ in range(COLD_ROUNDS)]
    bare, _, told = (statistics.median(column) for column in zip(*taken, strict=True))
    ratio = statistics.median(row[1] / row[0] for row in taken)
    print(
        f"cold start: check of 1 MP {ratio:.2f} x its bare imports ({bare:.2f} s),"
        f" --help {told:.2f} s"
    )


def orders() -> None:
    """The second half of the demo's orders, flips over quantities included; nothing kept."""
    shop = load_shop()
    taken = {}
    with resources.as_file(resources.files("artcheck") / "demo" / "orders") as folder:
        for file in sorted(folder.glob("*.toml")):
            order = load_order(file)
            measured = pipeline.measure_order(order)
            pipeline.evaluate_order(measured, order, shop)
            taken[file.stem] = statistics.median(
                seconds(lambda: pipeline.evaluate_order(measured, order, shop))  # noqa: B023
                for _ in range(ROUNDS)
            )
    told = ", ".join(f"{name} {1000 * s:.0f}" for name, s in taken.items())
    print(f"evaluating the demo's orders, ms: {told}")


def rolls(folder: Path) -> None:
    """A legal roll file, and one beyond the budget, each in a process of its own."""
    tile = np.asarray(decode(drawing(3.4, folder)))
    for size in (ROLL_PX, HUGE_PX):
        picture = np.zeros((*size[::-1], 4), np.uint8)
        for row in range(100, size[1] - len(tile), len(tile) + 200):
            for col in range(100, size[0] - tile.shape[1], tile.shape[1] + 200):
                picture[row : row + len(tile), col : col + tile.shape[1]] = tile
        path = folder / "roll.png"
        Image.fromarray(picture).save(path, dpi=(300, 300), compress_level=1)
        del picture
        command = [sys.executable, "-m", "artcheck", "check", str(path), "--width", "22in"]
        told = subprocess.run(
            [sys.executable, "-c", ONLY_CHILD, *command, "--quantity", "24"],
            capture_output=True,
            check=True,
            text=True,
        )
        print(
            f"sheet of {size[0] * size[1] / 1e6:.0f} MP: {told.stdout.strip()}"
            f" {told.stderr.strip().replace(str(path), path.name)}".rstrip()
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--roll", action="store_true", help="sheets of 119 and 570 MP too")
    options = parser.parse_args()
    cv2.setNumThreads(1)
    Image.MAX_IMAGE_PIXELS = None
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = {
            "transparent drawing, 24 MP": drawing(24, folder),
            "drawing on paper, 24 MP": drawing(24, folder, paper=True),
            "photograph, JPEG, 24 MP": photograph(folder),
        }
        for words, path in files.items():
            one_file(words, path)
        for words, path in files.items():
            others(words, path)
        growth(folder)
        cold(folder)
        orders()
        crews(folder)
        if options.roll:
            rolls(folder)


if __name__ == "__main__":
    main()
