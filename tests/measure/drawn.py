"""Art drawn by script, with its truth known: fades, flags, worn prints, screens, photographs."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import skimage
import sklearn
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from artcheck.domain.artwork import Artwork, Background
from artcheck.measure.scan import Scan

Bytes = NDArray[np.uint8]
Colour = tuple[int, int, int]

PHOTOGRAPHS = {
    "astronaut": "skimage/data/astronaut.png",  # NASA, public domain
    "camera": "skimage/data/camera.png",  # Lav Varshney, CC0
    "chelsea": "skimage/data/chelsea.png",  # Stefan van der Walt, CC0
    "coffee": "skimage/data/coffee.png",  # Rachel Michetti, CC0
    "rocket": "skimage/data/rocket.jpg",  # SpaceX, CC0
    "motorcycle": "skimage/data/motorcycle_left.png",  # D. Scharstein and others, CC0
    "hubble": "skimage/data/hubble_deep_field.jpg",  # NASA, public domain
    "coins": "skimage/data/coins.png",  # Brooklyn Museum, no known restrictions
    "china": "sklearn/datasets/images/china.jpg",  # Yann Forget, CC BY
    "flower": "sklearn/datasets/images/flower.jpg",  # dany, CC BY
}


def scan_of(pixels: Bytes, paper: NDArray[np.bool_] | None = None) -> Scan:
    """A scan of (H, W, 3) or (H, W, 4) pixels, with white paper removed where ``paper`` says so."""
    alpha = np.ascontiguousarray(pixels[..., 3]) if pixels.shape[2] == 4 else None
    if alpha is not None and alpha.min() == 255:
        alpha = None
    kind = "removed" if paper is not None else "transparent" if alpha is not None else "kept"
    artwork = Artwork(
        name="drawn.png",
        digest="0" * 64,
        kind="raster",
        rgb=np.ascontiguousarray(pixels[..., :3]),
        alpha=alpha,
        background=Background(kind=kind, hex="#ffffff" if paper is not None else None, reason=""),
        source_size=(pixels.shape[1], pixels.shape[0]),
        paper=paper,
        had_alpha=alpha is not None,
    )
    return Scan(artwork)


def photograph(name: str) -> Bytes:
    """(H, W, 3) one of `PHOTOGRAPHS`, out of the wheel that ships it."""
    package, _, rest = PHOTOGRAPHS[name].partition("/")
    root = {"skimage": skimage, "sklearn": sklearn}[package]
    return np.asarray(Image.open(Path(str(root.__file__)).parent / rest).convert("RGB"))


def resized(pixels: Bytes, width: int, height: int, how: Image.Resampling) -> Bytes:
    return np.asarray(Image.fromarray(pixels).resize((width, height), how))


def on_white(pixels: Bytes) -> Bytes:
    """(H, W, 3): the art laid on a white page."""
    if pixels.shape[2] == 3:
        return pixels
    page = Image.new("RGBA", (pixels.shape[1], pixels.shape[0]), "white")
    page.alpha_composite(Image.fromarray(pixels))
    return np.asarray(page.convert("RGB"))


def _disc(size_px: int) -> Bytes:
    """(n, n) anti-aliased disc with a margin of a tenth."""
    large = Image.new("L", (size_px * 4, size_px * 4))
    edge = size_px * 4
    ImageDraw.Draw(large).ellipse([edge * 0.1, edge * 0.1, edge * 0.9, edge * 0.9], fill=255)
    return np.asarray(large.resize((size_px, size_px), Image.Resampling.BOX))


def fade(kind: str, first: Colour, last: Colour, size_px: int, *, vanishing: bool = False) -> Bytes:
    """(n, n, 4) a disc that fades rightwards, across or outwards; to nothing if vanishing."""
    row, col = np.mgrid[0:size_px, 0:size_px] / size_px
    part = {
        "linear": col,
        "diagonal": (row + col) / 2,
        "radial": np.clip(np.hypot(row - 0.5, col - 0.5) * 2, 0, 1),
    }[kind]
    rgb = (1 - part)[..., None] * np.array(first) + part[..., None] * np.array(last)
    share = _disc(size_px) * ((1 - part) if vanishing else 1.0)
    return np.asarray(np.rint(np.dstack([rgb, share])), np.uint8)


def flag(stripes: list[Colour], size_px: int, *, upright: bool = False) -> Bytes:
    """(2n/3, n, 4) stripes with a small emblem of ring, wedge and dots."""
    width, height = size_px * 4, size_px * 8 // 3
    page = Image.new("RGBA", (width, height))
    pen = ImageDraw.Draw(page)
    count = len(stripes)
    for k, colour in enumerate(stripes):
        box = (width * k // count, 0, width * (k + 1) // count, height)
        if not upright:
            box = (0, height * k // count, width, height * (k + 1) // count)
        pen.rectangle(box, fill=colour)
    middle, radius = (width / 2, height / 2), width * 0.1
    pen.ellipse([middle[0] - radius, middle[1] - radius, middle[0] + radius, middle[1] + radius],
                fill=(255, 230, 120))  # fmt: skip
    pen.polygon(
        [
            (middle[0], middle[1] - radius * 0.8),
            (middle[0] + radius / 2, middle[1] + radius / 2),
            (middle[0] - radius / 2, middle[1] + radius / 2),
        ],
        fill=(120, 20, 20),
    )
    for turn in np.linspace(0, 2 * np.pi, 12, endpoint=False):
        x, y = middle[0] + radius * 0.85 * np.cos(turn), middle[1] + radius * 0.85 * np.sin(turn)
        pen.ellipse([x - 16, y - 16, x + 16, y + 16], fill=(20, 20, 90))
    return np.asarray(page.resize((size_px, size_px * 2 // 3), Image.Resampling.BOX))


def worn(seed: int, size_px: int) -> Bytes:
    """(n, n, 4) a bar and a word with a third worn away, in patches of many sizes."""
    chance = np.random.default_rng(seed)
    edge = size_px * 2
    noise = np.zeros((edge, edge), np.float32)
    for patch, weight in ((40, 1.0), (10, 0.8), (4, 0.7), (2, 0.5)):
        small = chance.standard_normal((size_px // patch + 2,) * 2).astype(np.float32)
        noise += weight * cv2.resize(small, (edge, edge), interpolation=cv2.INTER_CUBIC)
    page = Image.new("RGBA", (edge, edge))
    pen = ImageDraw.Draw(page)
    pen.rectangle([edge * 0.05, edge * 0.05, edge * 0.95, edge * 0.45], fill=(180, 30, 40, 255))
    pen.text((edge * 0.07, edge * 0.5), "OLD", font=ImageFont.load_default(edge * 0.27),
             fill=(20, 40, 90, 255))  # fmt: skip
    pixels = np.array(page)
    pixels[noise > np.percentile(noise, 70)] = 0
    return np.asarray(Image.fromarray(pixels).resize((size_px, size_px), Image.Resampling.BOX))


def night_sky(seed: int, size_px: int) -> Bytes:
    """(n, n, 3) points and small smudges of light whose strengths follow star counts.

    Counts that grow threefold with each magnitude mean rises distributed as u ** -0.84.
    """
    chance = np.random.default_rng(seed)
    sky = np.full((size_px, size_px), 8.0) + chance.normal(0, 1.5, (size_px, size_px))
    for _ in range(size_px * size_px // 700):
        row, col = chance.uniform(0, size_px, 2)
        width = chance.uniform(0.8, 1.3) * (chance.uniform(1.5, 4) if chance.random() < 0.15 else 1)
        rise = 20 * chance.random() ** -0.84
        reach = int(5 * width) + 2
        rows = np.arange(max(0, int(row) - reach), min(size_px, int(row) + reach + 1))
        cols = np.arange(max(0, int(col) - reach), min(size_px, int(col) + reach + 1))
        away = (rows[:, None] - row) ** 2 + (cols - col) ** 2
        sky[np.ix_(rows, cols)] += rise * np.exp(-away / (2 * width**2))
    return np.asarray(np.clip(np.dstack([sky, sky * 0.95, sky * 0.9]), 0, 255), np.uint8)


def splashes(inks: int, size_px: int) -> Bytes:
    """(n, n, 3) dots of all sizes down to less than a pixel, in one to three inks on near black."""
    chance = np.random.default_rng(inks)
    page = Image.new("RGB", (size_px * 4, size_px * 4), (20, 20, 40))
    pen = ImageDraw.Draw(page)
    colours = [(255, 255, 255), (200, 60, 60), (120, 120, 120)][:inks]
    for _ in range(900):
        x, y = chance.uniform(0, size_px * 4, 2)
        radius = 30 * chance.random() ** 4 + 1.5
        pen.ellipse([x - radius, y - radius, x + radius, y + radius],
                    fill=colours[int(chance.integers(inks))])  # fmt: skip
    return np.asarray(page.resize((size_px, size_px), Image.Resampling.BOX))


WORDS = ("River", "OAK & CO", "Team 24", "Harbour", "QUARRY", "est. 1987", "Bluebird")
LETTER_INKS = ((27, 42, 65), (200, 30, 45), (15, 107, 58), (242, 181, 5), (232, 119, 34))


def lettering(seed: int, width_px: int) -> Bytes:
    """(w / 2, w, 4) one to four lines of words, each in one ink, in the font that Pillow ships."""
    chance = np.random.default_rng(seed)
    large = Image.new("RGBA", (4 * width_px, 2 * width_px), (255, 255, 255, 0))
    pen = ImageDraw.Draw(large)
    lines = int(chance.integers(1, 5))
    for line in range(lines):
        size = 2 * width_px * chance.uniform(0.08, 0.7 / lines)
        place = (0.16 * width_px, 2 * width_px * (0.05 + 0.9 * line / lines))
        ink = LETTER_INKS[int(chance.integers(len(LETTER_INKS)))]
        word = WORDS[int(chance.integers(len(WORDS)))]
        pen.text(place, word, fill=(*ink, 255), font=ImageFont.load_default(size))
    return np.asarray(large.resize((width_px, width_px // 2), Image.Resampling.BOX))


def scanned_page(type_px: int, width_px: int) -> Bytes:
    """(1.3n, n, 3) a page of small grey type on grey paper, blurred and noisy as a scanner's."""
    chance = np.random.default_rng(0)
    height = int(width_px * 1.3)
    page = Image.new("L", (width_px, height), 225)
    pen, font = ImageDraw.Draw(page), ImageFont.load_default(type_px)
    margin = width_px // 12
    for top in range(margin, height - margin, int(type_px * 1.35)):
        letters = chance.choice(list("abcdefghijklmnoprstuvw     "), width_px // type_px * 2)
        pen.text((margin, top), "".join(letters), fill=60, font=font)
    pixels = np.asarray(page, np.float32)
    pixels = np.asarray(cv2.GaussianBlur(pixels, (0, 0), 0.9), np.float32)
    pixels += chance.normal(0, 4, pixels.shape).astype(np.float32)
    return np.dstack([np.clip(pixels, 0, 255).astype(np.uint8)] * 3)


def screen_share(
    period_px: float, angle_deg: float, tint: NDArray[np.floating], dot: str = "euclidean"
) -> NDArray[np.floating]:
    """(n, n) 0-1, how much of each pixel a screen's dots cover; angle counter-clockwise.

    ``tint`` is (n, n), 0-1. The spot functions are PostScript's: "euclidean" (the cosine dot, which
    turns over at a half), "round", "line" has one direction only.
    """
    fine = 4
    size = tint.shape[0]
    row, col = (np.mgrid[0 : size * fine, 0 : size * fine] + 0.5) / fine
    turn = np.deg2rad(angle_deg)
    u = (col * np.cos(turn) - row * np.sin(turn)) / period_px
    v = (col * np.sin(turn) + row * np.cos(turn)) / period_px
    spot = {
        "euclidean": (np.cos(2 * np.pi * u) + np.cos(2 * np.pi * v)) / 2,
        "round": -np.square((u % 1) - 0.5) - np.square((v % 1) - 0.5),
        "line": np.cos(2 * np.pi * u),
    }[dot]
    levels = np.sort(spot.ravel()[::101])
    wanted = cv2.resize(tint.astype(np.float32), spot.shape[::-1], interpolation=cv2.INTER_LINEAR)
    limit = np.interp(1 - wanted, np.linspace(0, 1, levels.size), levels)
    covered = (spot > limit).astype(np.float32)
    return np.asarray(cv2.resize(covered, (size, size), interpolation=cv2.INTER_AREA))


def screened(
    period_px: float, angle_deg: float, size_px: int, colour: Colour = (20, 20, 60),
    *, ramp: bool = True, dot: str = "euclidean",
) -> Bytes:  # fmt: skip
    """(n, n, 4) a disc printed as a screen, from 10 to 90 % or flat 30 %."""
    tint = np.full((size_px, size_px), 0.3)
    if ramp:
        tint = np.tile(np.linspace(0.1, 0.9, size_px), (size_px, 1))
    share = screen_share(period_px, angle_deg, tint, dot) * (_disc(size_px) > 127)
    pixels = np.zeros((size_px, size_px, 4), np.uint8)
    pixels[..., :3] = colour
    pixels[..., 3] = np.rint(share * 255)
    return pixels


def with_photograph(ground: Bytes, name: str, share: float) -> tuple[Bytes, float]:
    """The art (H, W, 4) with a square photograph set into its middle; and the true share of ink."""
    pixels = ground.copy()
    rows, cols = np.nonzero(pixels[..., 3] > 127)
    height, width = pixels.shape[:2]
    side = min(int((share * rows.size) ** 0.5), height - 4, width - 4)
    top = int(np.clip((rows.min() + rows.max()) / 2 - side / 2, 0, height - side))
    left = int(np.clip((cols.min() + cols.max()) / 2 - side / 2, 0, width - side))
    inset = resized(photograph(name), side, side, Image.Resampling.LANCZOS)
    pixels[top : top + side, left : left + side, :3] = inset
    pixels[top : top + side, left : left + side, 3] = 255
    return pixels, side * side / (pixels[..., 3] / 255).sum()
