"""The states in which customers send a drawing, and the truth about its inks.

Definitions that figures compare by:

* An *ink* is a declared colour that shows on at least 0.3 % of the ink area in a large rendering
  without anti-aliasing; colours closer than CIEDE2000 2.0 are one.
* A count is *in range* between the inks of at least 1 % that stay apart by 6, and those of at
  least 0.1 %: either reading is honest.
* A white shape on a white page cannot be told from paper, so on white pages inks other than
  white are counted.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import resvg_py
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab

TRUTH_PX = 1536
INK_SHARE = 0.003
LOW_SHARE, HIGH_SHARE = 0.01, 0.001
SAME_INK, APART = 2.0, 6.0
WHITE = np.array([[255, 255, 255]], np.uint8)


def render(svg: str, *, crisp: bool = False) -> Image.Image:
    """Render an SVG string of integer page size to RGBA."""
    png = resvg_py.svg_to_bytes(
        svg_string=svg,
        shape_rendering="crisp_edges" if crisp else "geometric_precision",
        skip_system_fonts="<text" not in svg,
        text_rendering="optimize_speed" if crisp else "geometric_precision",
    )
    return Image.open(io.BytesIO(png)).convert("RGBA")


@dataclass(frozen=True)
class Truth:
    """Colours (n, 3) Lab and shares (n,) of the inks, and the counts that are honest.

    ``page_share`` is how much of the page is inked.
    """

    lab: NDArray[np.floating]
    share: NDArray[np.floating]
    count: int
    low: int
    high: int
    page_share: float


def _merged(
    lab: NDArray[np.floating], share: NDArray[np.floating], limit: float
) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
    """Fold each colour into the largest one nearer than ``limit``; largest first."""
    kept: list[int] = []
    total: list[float] = []
    for index in np.argsort(-share, kind="stable"):
        near = delta_e_2000(lab[index], lab[kept]) if kept else np.array([np.inf])
        if near.min() < limit:
            total[int(near.argmin())] += float(share[index])
        else:
            kept.append(int(index))
            total.append(float(share[index]))
    return lab[kept], np.array(total)


def truth_of(crisp: Image.Image, *, without_white: bool) -> Truth:
    """The inks of a rendering without anti-aliasing."""
    rgba = np.asarray(crisp).reshape(-1, 4)
    keys = rgba[rgba[:, 3] == 255].astype(np.int64) @ np.array([65536, 256, 1, 0])
    found, counts = np.unique(keys, return_counts=True)
    colours = np.stack([found >> 16, (found >> 8) & 255, found & 255], axis=1)
    lab = srgb8_to_lab(colours.astype(np.uint8), np.float64)
    if without_white:
        coloured = delta_e_2000(lab, srgb8_to_lab(WHITE, np.float64)) >= SAME_INK
        lab, counts = lab[coloured], counts[coloured]
    page_share = float(counts.sum()) / len(rgba)
    lab, share = _merged(lab, counts / max(counts.sum(), 1), SAME_INK)
    low_lab, _ = _merged(lab[share >= LOW_SHARE], share[share >= LOW_SHARE], APART)
    inks = share >= INK_SHARE
    high = int((share >= HIGH_SHARE).sum())
    count = int(inks.sum())
    return Truth(lab[inks], share[inks], count, len(low_lab), high, page_share)


def on_white(art: Image.Image) -> Image.Image:
    page = Image.new("RGBA", art.size, "white")
    page.alpha_composite(art)
    return page.convert("RGB")


def _png(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=1)
    return out.getvalue()


def _jpeg(picture: Image.Image, quality: int, subsampling: str) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality, subsampling=subsampling)
    return out.getvalue()


def enlarged(art: Image.Image, factor: int = 3) -> bytes:
    page = on_white(art)
    size = (page.width * factor, page.height * factor)
    return _jpeg(page.resize(size, Image.Resampling.BICUBIC), 85, "4:2:0")


def scanned(art: Image.Image) -> bytes:
    page = on_white(art).filter(ImageFilter.GaussianBlur(0.8))
    noise = np.random.default_rng(0).normal(0, 3, (page.height, page.width, 3))
    noisy = np.clip(np.rint(np.asarray(page) + noise), 0, 255).astype(np.uint8)
    return _jpeg(Image.fromarray(noisy), 85, "4:2:0")


@dataclass(frozen=True)
class Condition:
    """One state: the size drawn at, how the file is made, and whether it stands on white."""

    key: str
    title: str
    size_px: int
    make: Callable[[Image.Image], bytes]
    white_page: bool
    target: tuple[float, float]


CONDITIONS = (
    Condition("a", "PNG, alpha, 1000 px", 1000, _png, False, (0.98, 0.99)),
    Condition(
        "b", "PNG on white, 1000 px", 1000, lambda art: _png(on_white(art)), True, (0.97, 0.99)
    ),
    Condition(
        "c",
        "JPEG 90 4:4:4, 1000 px",
        1000,
        lambda art: _jpeg(on_white(art), 90, "4:4:4"),
        True,
        (0.96, 0.98),
    ),
    Condition(
        "d",
        "JPEG 60 4:2:0, 600 px",
        600,
        lambda art: _jpeg(on_white(art), 60, "4:2:0"),
        True,
        (0.85, 0.92),
    ),
    Condition("e", "PNG, alpha, 220 px", 220, _png, False, (0.96, 0.98)),
    Condition("f", "300 px enlarged x3, JPEG 85", 300, enlarged, True, (0.92, 0.97)),
    Condition("g", "scan: blur, noise, JPEG 85, 800 px", 800, scanned, True, (0.94, 0.98)),
)
