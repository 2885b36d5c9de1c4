"""The art as it would lie on the garment: a small picture for the page, and places in it."""

from __future__ import annotations

import base64
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import hex_to_srgb8
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box
from artcheck.imaging.rims import ink_part
from artcheck.separation.proof import Proof

LONGEST_SIDE_PX = 1200
"""Long side of a page's picture: fills a desk monitor's half at two device pixels each."""

UNKNOWN_GARMENT_HEX = "#c6c6c6"
"""Shown behind art whose garment is not known: light neutral grey, on which both white and black
ink are seen."""

PNG_AT_MOST_BYTES = 700_000
"""Larger PNGs (photographs) are written as JPEG instead, so that a page stays under a megabyte."""

_JPEG_QUALITY = 92
"""High enough that no ripple is taken for a fault of the art."""

_OPAQUE = 255.0


@dataclass(frozen=True, slots=True)
class Picture:
    """An encoded picture and the part of the file that it shows.

    Attributes
    ----------
    data
        A PNG, JPEG or WebP file.
    mime
        "image/png", "image/jpeg" or "image/webp".
    width_px, height_px
        Size of the picture.
    frame
        The part shown, in pixels of the file.
    """

    data: bytes
    mime: str
    width_px: int
    height_px: int
    frame: Box

    @property
    def uri(self) -> str:
        """The picture as a ``data:`` address, so that a page needs no second file."""
        return f"data:{self.mime};base64,{base64.b64encode(self.data).decode('ascii')}"


@dataclass(frozen=True, slots=True)
class Place:
    """A box in a picture, in percent of its width and height."""

    left: float
    top: float
    width: float
    height: float


def picture_on(
    cutout: Cutout, garment_hex: str | None, *, longest_px: int = LONGEST_SIDE_PX
) -> Picture:
    """Draw the printed box on the garment's colour, no larger than ``longest_px`` a side.

    ``garment_hex`` is ``#rrggbb``; None stands for an unknown garment and gives a neutral grey.
    Averages encoded sRGB values, as browsers do when they show a picture smaller.
    """
    drawn = _composed(cutout, _rgb_of(garment_hex or UNKNOWN_GARMENT_HEX), longest_px)
    return picture_of(drawn, cutout.box)


def picture_of(rgb: NDArray[np.uint8], frame: Box) -> Picture:
    """(h, w, 3) uint8 sRGB as a picture that shows ``frame`` of the file."""
    data, mime = _encoded(rgb)
    return Picture(data, mime, rgb.shape[1], rgb.shape[0], frame)


def ink_picture(cutout: Cutout, *, longest_px: int = LONGEST_SIDE_PX) -> Picture:
    """The printed box on nothing: a page lays it on any garment without touching its pixels."""
    row0, col0, row1, col1 = cutout.box
    share = cutout.coverage[row0:row1, col0:col1]
    return open_picture(_ink_part(cutout), share, cutout.box, longest_px)


def proof_picture(proof: Proof, *, longest_px: int = LONGEST_SIDE_PX) -> Picture:
    """The printed art on nothing; its frame counts pixels of the proof."""
    frame = (0, 0, *proof.coverage.shape[:2])
    return open_picture(proof.part, proof.coverage, frame, longest_px)


def plate_picture(printed: NDArray[np.uint8], *, longest_px: int = LONGEST_SIDE_PX) -> Picture:
    """What a plate prints, (H, W) uint8, 255 where ink lies, as black on white."""
    height, width = printed.shape
    grey = cv2.bitwise_not(_smaller(printed, _size_within(width, height, longest_px)))
    png = cv2.imencode(".png", grey, (cv2.IMWRITE_PNG_COMPRESSION, 9))[1].tobytes()
    return Picture(png, "image/png", grey.shape[1], grey.shape[0], (0, 0, height, width))


def open_picture(
    part: NDArray[np.uint8], share: NDArray[np.uint8], frame: Box, longest_px: int
) -> Picture:
    """``part``, colour times coverage, and the coverage itself, drawn smaller with transparency."""
    height, width = share.shape
    size = _size_within(width, height, longest_px)
    opaque = _smaller(share, size)
    ink = _smaller(part, size).astype(np.float32)
    colour = ink * (_OPAQUE / np.maximum(opaque, 1).astype(np.float32))[..., None]
    rgba = np.dstack((np.clip(np.rint(colour), 0, 255).astype(np.uint8), opaque))
    return _encoded_open(rgba, frame)


def laid_on(picture: Picture, garment_hex: str | None) -> Picture:
    """An `ink_picture` on a garment's colour, as `picture_on` draws it."""
    bgra = cv2.imdecode(np.frombuffer(picture.data, np.uint8), cv2.IMREAD_UNCHANGED)
    assert bgra is not None
    share = bgra[..., 3:].astype(np.float32) / _OPAQUE
    garment = _rgb_of(garment_hex or UNKNOWN_GARMENT_HEX)
    ink = bgra[..., 2::-1].astype(np.float32)
    drawn = np.clip(np.rint(ink * share + garment * (1 - share)), 0, 255).astype(np.uint8)
    return picture_of(drawn, picture.frame)


HATCH_PX = 8
"""Width of a stripe of the hatching; stripes are light and dark in turn, seen on any garment."""


def removed_picture(cutout: Cutout, *, longest_px: int = LONGEST_SIDE_PX) -> Picture | None:
    """Hatching where paper was taken away inside the printed box; None where none was."""
    if cutout.paper_hex is None:
        return None
    row0, col0, row1, col1 = cutout.box
    size = _size_within(col1 - col0, row1 - row0, longest_px)
    open_ = _smaller(cutout.coverage[row0:row1, col0:col1], size) == 0
    rows, cols = np.indices(open_.shape)
    stripe = (rows + cols) // HATCH_PX % 4
    shade = np.where(stripe == 0, 255, 0).astype(np.uint8)
    shown = np.where(open_ & (stripe < 2), 160, 0).astype(np.uint8)
    return _encoded_open(np.dstack((shade, shade, shade, shown)), cutout.box)


def _encoded_open(rgba: NDArray[np.uint8], frame: Box) -> Picture:
    """A picture with transparency: PNG, or WebP where that is much smaller."""
    height, width = rgba.shape[:2]
    bgra = cv2.cvtColor(rgba, cv2.COLOR_RGBA2BGRA)
    png = cv2.imencode(".png", bgra, (cv2.IMWRITE_PNG_COMPRESSION, 9))[1].tobytes()
    if len(png) <= PNG_AT_MOST_BYTES:
        return Picture(png, "image/png", width, height, frame)
    webp = cv2.imencode(".webp", bgra, (cv2.IMWRITE_WEBP_QUALITY, _JPEG_QUALITY))[1].tobytes()
    return Picture(webp, "image/webp", width, height, frame)


def place_in(frame: Box, where: Box) -> Place | None:
    """Where a box of the file lies in a picture of ``frame``; None when it lies outside."""
    row0, col0 = max(where[0], frame[0]), max(where[1], frame[1])
    row1, col1 = min(where[2], frame[2]), min(where[3], frame[3])
    if row0 >= row1 or col0 >= col1:
        return None
    height, width = (frame[2] - frame[0]) / 100, (frame[3] - frame[1]) / 100
    return Place(
        left=round((col0 - frame[1]) / width, 3),
        top=round((row0 - frame[0]) / height, 3),
        width=round((col1 - col0) / width, 3),
        height=round((row1 - row0) / height, 3),
    )


def _composed(cutout: Cutout, garment: NDArray[np.float32], longest_px: int) -> NDArray[np.uint8]:
    """(h, w, 3) uint8 sRGB: ink over the garment, made smaller before it is laid on."""
    row0, col0, row1, col1 = cutout.box
    share = cutout.coverage[row0:row1, col0:col1]
    size = _size_within(col1 - col0, row1 - row0, longest_px)
    ink = _smaller(_ink_part(cutout), size).astype(np.float32)
    open_share = 1 - _smaller(share, size).astype(np.float32) / _OPAQUE
    return np.clip(np.rint(ink + open_share[..., None] * garment), 0, 255).astype(np.uint8)


def _ink_part(cutout: Cutout) -> NDArray[np.uint8]:
    """(h, w, 3) uint8: the printed box, each pixel's ink times its coverage."""
    row0, col0, row1, col1 = cutout.box
    paper = hex_to_srgb8(cutout.paper_hex) if cutout.paper_hex else None
    return ink_part(cutout.rgb[row0:row1, col0:col1], cutout.coverage[row0:row1, col0:col1], paper)


def _size_within(width: int, height: int, longest_px: int) -> tuple[int, int]:
    scale = min(1.0, longest_px / max(width, height))
    return max(1, round(width * scale)), max(1, round(height * scale))


def _smaller(plane: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), np.uint8)


def _rgb_of(hex_text: str) -> NDArray[np.float32]:
    return np.array(hex_to_srgb8(hex_text), np.float32)


def _encoded(rgb: NDArray[np.uint8]) -> tuple[bytes, str]:
    bgr = cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR)
    png = cv2.imencode(".png", bgr, (cv2.IMWRITE_PNG_COMPRESSION, 9))[1].tobytes()
    if len(png) <= PNG_AT_MOST_BYTES:
        return png, "image/png"
    jpeg = cv2.imencode(".jpg", bgr, (cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY))[1].tobytes()
    return (jpeg, "image/jpeg") if len(jpeg) < len(png) else (png, "image/png")
