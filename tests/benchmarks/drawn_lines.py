"""Drawings whose thinnest line or narrowest gap is known from their geometry.

Everything is drawn here. Renderers place edges on a grid of their own (resvg: a quarter pixel), so
each drawing is rendered several times as large and reduced by area averages: coverage is then
right to 1/32 of a pixel where strokes are thin.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
import resvg_py
from fontTools.pens.recordingPen import RecordingPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from numpy.typing import NDArray
from PIL import Image, ImageFilter

OVERSAMPLED_THIN, OVERSAMPLED_THICK = 8, 2
THIN_PX = 8.0
"""Widths under this are rendered with the larger factor."""

LEAST_PAGE_PX = 160
PAGE_IN_WIDTHS = 10.0
"""Side of a page: a stroke of 6 pt at 600 ppi is 50 px wide and needs some length."""

WIDTHS_PT = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
RESOLUTIONS_PPI = (300, 600)
ANGLES_DEG = (0, 17, 45, 73, 90)
PLAIN_LETTERS = "HILTEF"
"""Letters of straight strokes: their thinnest stroke follows from the outline's coordinates."""

BLACK, WHITE, YELLOW = "#111111", "#ffffff", "#f5d020"


@dataclass(frozen=True)
class Drawing:
    """One drawing with what is known of it.

    ``measure`` names what ``width_px`` is: "line" or "gap". ``inks`` counts them where one
    lies on another.
    """

    kind: str
    measure: str
    width_px: float
    svg_body: str
    size_px: tuple[int, int]
    ppi: int = 300
    inks: int = 0

    def svg(self, scale: int = 1) -> str:
        width, height = self.size_px
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * scale}"'
            f' height="{height * scale}" viewBox="0 0 {width} {height}">{self.svg_body}</svg>'
        )


def rendered(drawing: Drawing) -> NDArray[np.uint8]:
    """(H, W, 4) uint8 straight RGBA of exact coverage."""
    scale = OVERSAMPLED_THIN if drawing.width_px < THIN_PX else OVERSAMPLED_THICK
    png = bytes(resvg_py.svg_to_bytes(svg_string=drawing.svg(scale)))
    large = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"), np.float32)
    alpha = large[..., 3:]
    premultiplied = np.concatenate([large[..., :3] * (alpha / 255), alpha], axis=2)
    small = np.asarray(cv2.resize(premultiplied, drawing.size_px, interpolation=cv2.INTER_AREA))
    colour = small[..., :3] * (255 / np.maximum(small[..., 3:], 1e-6))
    straight = np.concatenate([colour, small[..., 3:]], axis=2)
    return np.asarray(np.clip(np.rint(straight), 0, 255), np.uint8)


# --- what is drawn ------------------------------------------------------------------------------


def _turned(body: str, degrees: float, side: int) -> str:
    return f'<g transform="rotate({degrees} {side / 2} {side / 2})">{body}</g>'


def _bar(width: float, side: int, colour: str, shift: float) -> str:
    """A bar of a width across the middle third of the page."""
    length = side * 0.6
    return (
        f'<rect x="{(side - length) / 2}" y="{side / 2 + shift - width / 2}" width="{length}"'
        f' height="{width}" fill="{colour}"/>'
    )


def _block(side: int, colour: str) -> str:
    edge = side * 0.06
    return (
        f'<rect x="{edge}" y="{edge}" width="{side - 2 * edge}" height="{side - 2 * edge}"'
        f' fill="{colour}"/>'
    )


def _two_blocks(width: float, side: int, shift: float) -> str:
    """Two blocks with a gap between them."""
    edge, middle = side * 0.14, side / 2 + shift
    upper = middle - width / 2 - edge
    lower = side - edge - middle - width / 2
    return (
        f'<rect x="{edge}" y="{edge}" width="{side - 2 * edge}" height="{upper}" fill="{BLACK}"/>'
        f'<rect x="{edge}" y="{middle + width / 2}" width="{side - 2 * edge}" height="{lower}"'
        f' fill="{BLACK}"/>'
    )


def _hole(shape: str, side: int, colour: str = BLACK) -> str:
    """A block out of which a white shape is left open."""
    return _masked(shape, _block(side, colour), side, side)


def _masked(shape: str, body: str, width: int, height: int) -> str:
    return (
        f'<mask id="m" maskUnits="userSpaceOnUse" width="{width}" height="{height}">'
        f'<rect width="{width}" height="{height}" fill="#fff"/>{shape}</mask>'
        f'<g mask="url(#m)">{body}</g>'
    )


def _ring(width: float, side: int, colour: str) -> str:
    radius = max(side * 0.25, 3 * width)
    return (
        f'<circle cx="{side / 2 + 0.3}" cy="{side / 2 - 0.2}" r="{radius}" fill="none"'
        f' stroke="{colour}" stroke-width="{width}"/>'
    )


def _disc(
    side: int, colour: str = BLACK, at: tuple[float, float] = (0.14, 0.14), radius: float = 0.1
) -> str:
    """Something large of the same ink."""
    x, y = (side * part for part in at)
    return f'<circle cx="{x}" cy="{y}" r="{side * radius}" fill="{colour}"/>'


def _straight(width: float, side: int, ppi: int) -> Iterator[Drawing]:
    for angle, n in zip(ANGLES_DEG, itertools.count()):
        shift = 0.37 * n % 1  # strokes lie anywhere on the pixel grid
        bar = _turned(_bar(width, side, BLACK, shift), angle, side)
        hole = _turned(_bar(width, side, "#000", shift), angle, side)
        parted = _turned(_two_blocks(width, side, shift), angle, side)
        yield Drawing(f"line {angle}", "line", width, bar + _disc(side), (side, side), ppi)
        yield Drawing(f"gap {angle}", "gap", width, _hole(hole, side), (side, side), ppi)
        yield Drawing(f"parted {angle}", "gap", width, parted, (side, side), ppi)


def _rings(width: float, side: int, ppi: int) -> Iterator[Drawing]:
    yield Drawing("ring", "line", width, _ring(width, side, BLACK), (side, side), ppi)
    yield Drawing(
        "ring gap", "gap", width, _hole(_ring(width, side, "#000"), side), (side, side), ppi
    )


def _two_inks(width: float, side: int, ppi: int) -> Iterator[Drawing]:
    """Strokes of one ink on a field of another; white is an ink where the page is transparent."""
    for angle in (0, 17, 45):
        for kind, field, stroke, measure in (
            ("black on yellow", YELLOW, BLACK, "line"),
            ("yellow on black", BLACK, YELLOW, "line"),
            ("yellow in black", BLACK, YELLOW, "gap"),
            ("white in black", BLACK, WHITE, "gap"),
        ):
            bar = _turned(_bar(width, side, stroke, 0.3), angle, side)
            body = _block(side, field) + bar + _disc(side, stroke, (0.72, 0.26), 0.08)
            yield Drawing(kind, measure, width, body, (side, side), ppi, inks=2)


# --- letters ------------------------------------------------------------------------------------


def _corners(file: Path, letter: str) -> list[list[tuple[float, float]]]:
    """The closed outlines of a letter of straight strokes."""
    face, pen = _font(file), RecordingPen()
    face.getGlyphSet()[face.getBestCmap()[ord(letter)]].draw(pen)
    contours: list[list[tuple[float, float]]] = []
    for command, points in pen.value:
        if command == "moveTo":
            contours.append([])
        assert command in ("moveTo", "lineTo", "closePath"), "a plain letter has no curves"
        contours[-1].extend(points)
    return contours


def font_files() -> list[Path]:
    """Open fonts that come with matplotlib."""
    import matplotlib as mpl

    folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return [folder / name for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")]


@lru_cache
def _font(file: Path) -> TTFont:
    return TTFont(file)


def _inside(contours: list[list[tuple[float, float]]], x: float, y: float) -> bool:
    """Even-odd: outlines of plain letters do not overlap themselves."""
    crossings = 0
    for contour in contours:
        for (x0, y0), (x1, y1) in zip(contour, contour[1:] + contour[:1], strict=True):
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
                crossings += 1
    return crossings % 2 == 1


def _least_run(inside: NDArray[np.bool_], edges: NDArray[np.float64]) -> float:
    """Least length of the runs of True along the last axis, in units of ``edges``."""
    least = math.inf
    for row in inside:
        padded = np.concatenate([[False], row, [False]])
        flips = np.flatnonzero(np.diff(padded.astype(np.int8)))
        for start, end in flips.reshape(-1, 2):
            least = min(least, float(edges[end] - edges[start]))
    return least


@lru_cache
def thinnest_stroke_em(file: Path, letters: str) -> float:
    """The thinnest stroke among plain letters, in ems, from their outlines' corners."""
    least = math.inf
    for letter in letters:
        contours = _corners(file, letter)
        xs = np.unique([x for contour in contours for x, _ in contour]).astype(np.float64)
        ys = np.unique([y for contour in contours for _, y in contour]).astype(np.float64)
        middle_x, middle_y = (xs[1:] + xs[:-1]) / 2, (ys[1:] + ys[:-1]) / 2
        grid = np.array([[_inside(contours, x, y) for x in middle_x] for y in middle_y])
        least = min(least, _least_run(grid, xs), _least_run(grid.T, ys))
    return least / float(_font(file)["head"].unitsPerEm)


def outlines(file: Path, letters: str, size: float, x: float, y: float) -> tuple[str, float]:
    """Path commands of a word from (x, y) on its baseline, and its width."""
    face = _font(file)
    glyphs, cmap = face.getGlyphSet(), face.getBestCmap()
    scale = size / face["head"].unitsPerEm
    at, parts = x, []
    for letter in letters:
        name = cmap[ord(letter)]
        pen = SVGPathPen(glyphs)
        glyphs[name].draw(TransformPen(pen, (scale, 0, 0, -scale, at, y)))
        parts.append(pen.getCommands())
        at += glyphs[name].width * scale
    return " ".join(parts), at - x


def _letters(width: float, _: int, ppi: int) -> Iterator[Drawing]:
    for file in font_files():
        size = width / thinnest_stroke_em(file, PLAIN_LETTERS)
        path, length = outlines(file, PLAIN_LETTERS, size, 0, 0)
        page = (int(length + 0.6 * size + 20), int(1.5 * size + 20))
        moved = f'<g transform="translate({0.3 * size + 10:.2f} {1.1 * size + 10:.2f})">'
        black = f'{moved}<path d="{path}" fill="{BLACK}"/></g>'
        hole = f'{moved}<path d="{path}" fill="#000"/></g>'
        field = f'<rect x="4" y="4" width="{page[0] - 8}" height="{page[1] - 8}" fill="{BLACK}"/>'
        yield Drawing("letters", "line", width, black, page, ppi)
        yield Drawing("letters reversed", "gap", width, _masked(hole, field, *page), page, ppi)


def drawings(groups: tuple[str, ...] = ("straight", "rings", "letters")) -> Iterator[Drawing]:
    """Every drawing of the named groups: "straight", "rings", "letters", "two inks"."""
    makers: dict[str, Callable[[float, int, int], Iterator[Drawing]]] = {
        "straight": _straight,
        "rings": _rings,
        "letters": _letters,
        "two inks": _two_inks,
    }
    for ppi in RESOLUTIONS_PPI:
        for points in WIDTHS_PT:
            for group in groups:
                width = points * ppi / 72
                side = max(LEAST_PAGE_PX, int(PAGE_IN_WIDTHS * width))
                yield from makers[group](width, side, ppi)


# --- states in which they are sent --------------------------------------------------------------


def as_png(rgba: NDArray[np.uint8]) -> bytes:
    return _saved(Image.fromarray(rgba), "PNG", compress_level=1)


def on_white(rgba: NDArray[np.uint8]) -> Image.Image:
    alpha = rgba[..., 3:].astype(np.float32) / 255
    flat = rgba[..., :3] * alpha + 255 * (1 - alpha)
    return Image.fromarray(np.rint(flat).astype(np.uint8))


def as_white_png(rgba: NDArray[np.uint8]) -> bytes:
    return _saved(on_white(rgba), "PNG", compress_level=1)


def as_jpeg(rgba: NDArray[np.uint8], quality: int = 85) -> bytes:
    return _saved(on_white(rgba), "JPEG", quality=quality)


def as_blurred_jpeg(rgba: NDArray[np.uint8]) -> bytes:
    soft = on_white(rgba).filter(ImageFilter.GaussianBlur(0.8))
    return _saved(soft, "JPEG", quality=85)


def _saved(picture: Image.Image, kind: str, **options: int) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


STATES: dict[str, Callable[[NDArray[np.uint8]], bytes]] = {
    "transparent": as_png,
    "white": as_white_png,
    "jpeg 85": as_jpeg,
    "blurred jpeg": as_blurred_jpeg,
}
