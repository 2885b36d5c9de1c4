"""Small pictures that tests draw themselves."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import resvg_py
from numpy.typing import NDArray
from PIL import Image

RED, BLUE = "#c81e28", "#1e3cc8"


def svg(body: str, width: int = 600, height: int = 400) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"'
        f' viewBox="0 0 {width} {height}">{body}</svg>'
    )


def drawn(body: str, width: int = 600, height: int = 400) -> Image.Image:
    """An SVG body as RGBA."""
    png = resvg_py.svg_to_bytes(svg_string=svg(body, width, height))
    return Image.open(io.BytesIO(bytes(png))).convert("RGBA")


def two_inks(width: int = 600) -> Image.Image:
    """A red disc and a blue bar on transparency."""
    k = width / 600
    return drawn(
        f'<circle cx="{200 * k}" cy="{200 * k}" r="{150 * k}" fill="{RED}"/>'
        f'<rect x="{400 * k}" y="{100 * k}" width="{40 * k}" height="{220 * k}" fill="{BLUE}"/>',
        width,
        round(width * 2 / 3),
    )


def on_white(image: Image.Image) -> Image.Image:
    page = Image.new("RGBA", image.size, "white")
    page.alpha_composite(image)
    return page.convert("RGB")


def saved(image: Image.Image, path: Path, **options: Any) -> Path:
    image.save(path, **options)
    return path


def photograph(size: int = 512) -> Image.Image:
    """A photograph that scikit-image ships (coffee, CC0, by Rachel Michetti)."""
    from skimage import data

    return Image.fromarray(data.coffee()).resize((size, size * 2 // 3))


def noise(shape: tuple[int, ...], seed: int = 0) -> NDArray[np.uint8]:
    return np.random.default_rng(seed).integers(0, 256, shape, np.uint8)
