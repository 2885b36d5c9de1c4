"""Bitmaps through Pillow: every mode becomes 8-bit sRGB and, where it means something, alpha."""

from __future__ import annotations

import io
import logging
import math
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError
from PIL.ImageFile import ImageFile

from artcheck.domain.artwork import ReadingNote
from artcheck.errors import ArtFileError, DamagedArtError, NotArtError, TooLargeArtError, UsageError
from artcheck.reading import psd, tiff
from artcheck.reading.arrays import alpha_array, rgb_and_alpha
from artcheck.reading.budget import MOST_PIXELS, check_pixels
from artcheck.reading.decoded import Decoded, meaningful, page_note, usable_ppi
from artcheck.reading.quiet import unheard
from artcheck.reading.to_srgb import to_srgb

_FORMATS = ("PNG", "JPEG", "GIF", "BMP", "TIFF", "WEBP", "AVIF")
"""What may be opened here, whatever else Pillow knows."""

_EXIF_X_RESOLUTION = 0x011A
_EXIF_ORIENTATION = 0x0112

_PER_METRE = ("PNG", "BMP")
"""Formats whose resolution is a whole number of dots per metre (PNG, 11.3.4.3 pHYs)."""

_HALF_A_DOT_PER_METRE = 0.5 * 0.0254
"""What rounding to a dot per metre can have moved a resolution, dots per inch."""


def decode(data: bytes, name: str, page: int = 0) -> Decoded:
    """A bitmap file as sRGB and alpha; ``page`` picks a page or frame, from 0.

    Raises
    ------
    DamagedArtError
        The file breaks off or contradicts itself.
    TooLargeArtError
        It has more pixels than the budget.
    NotArtError
        It only looks like a bitmap, or is of a variant that cannot be read.
    UsageError
        There is no such page.
    """
    _check_claim(data, name)
    logging.getLogger("PIL").addHandler(logging.NullHandler())  # it has faults told here
    quiet = unheard() if data[:2] in (b"II", b"MM") else nullcontext()
    with _one_line_for_faults(name), quiet:
        if data.startswith(b"8BPS"):
            _check_page(page, 1, name)
            return psd.decode(data, name)
        with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
            check_pixels(*image.size, name)
            return _decoded(image, data, name, page)


@contextmanager
def _one_line_for_faults(name: str) -> Iterator[None]:
    """Whatever a decoder stumbles over becomes one line that says what to do."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the budget replaces Pillow's pixel warning
            yield
    except (ArtFileError, UsageError):
        raise
    except UnidentifiedImageError:
        raise NotArtError(
            f"{name} starts like a picture but is none, or is of a rare kind."
            " Ask for it as 8-bit RGB: PNG or TIFF."
        ) from None
    except Image.DecompressionBombError:
        raise TooLargeArtError(
            f"{name} has more than {MOST_PIXELS // 1_000_000} million pixels."
            " Send it at print size and 300 ppi."
        ) from None
    except MemoryError:
        raise TooLargeArtError(
            f"{name} needs more memory than there is. Send it smaller."
        ) from None
    except Exception as fault:
        reason = " ".join(str(fault).split())[:120] or type(fault).__name__
        raise DamagedArtError(
            f"{name} is damaged or breaks off ({reason}). Ask for the file again."
        ) from None


def _check_claim(data: bytes, name: str) -> None:
    """Look at a PNG's claimed size before anything else: its header may be all there is."""
    if _is_png(data):
        width, height = struct.unpack(">II", data[16:24])
        check_pixels(width, height, name)


def _is_png(data: bytes) -> bool:
    return data.startswith(b"\x89PNG") and data[12:16] == b"IHDR" and len(data) > 24


def _decoded(image: ImageFile, data: bytes, name: str, page: int) -> Decoded:
    notes = _turn_to(image, page, name)
    image.load()
    extra = tiff.extra_planes(image)
    resolution = _resolution(image)
    _correct_key(image, data)
    upright = _upright(_as_printed(image))
    if upright.size != image.size and resolution is not None:
        resolution = resolution[::-1]
    icc = image.info.get("icc_profile")
    more: list[ReadingNote] = []
    alpha: NDArray[np.uint8] | None
    if upright.mode == "RGBA" and not icc:
        (rgb, alpha), had_alpha, profile = rgb_and_alpha(upright), True, None
    else:
        colour, alpha, had_alpha = _split(upright)
        eight_bit = _eight_bit(colour, white_is_zero=tiff.white_is_zero(image))
        rgb, profile, more = to_srgb(eight_bit, icc)
    return Decoded(
        rgb,
        meaningful(alpha),
        had_alpha,
        usable_ppi(resolution),
        profile,
        [*notes, *more, *extra.notes],
        extra.inks,
    )


# --- pages, resolution, orientation -------------------------------------------------------------


def _turn_to(image: ImageFile, page: int, name: str) -> list[ReadingNote]:
    """Go to a page or frame; a note where there are several."""
    frames = 1 if image.format == "MPO" else int(getattr(image, "n_frames", 1))
    _check_page(page, frames, name)
    if frames == 1:
        return []
    if page:
        image.seek(page)
        check_pixels(*image.size, name)
    return [page_note("page" if image.format == "TIFF" else "frame", frames, page)]


def _check_page(page: int, frames: int, name: str) -> None:
    if not 0 <= page < frames:
        count = "1 page" if frames == 1 else f"{frames} pages"
        raise UsageError(f"{name} has {count}, not {page + 1}. Choose one with --page.")


def _resolution(image: ImageFile) -> tuple[float, float] | None:
    if image.format in ("JPEG", "MPO") and not _jpeg_states_resolution(image):
        return None
    tag = image.info.get("dpi")
    try:
        stated = (float(tag[0]), float(tag[1])) if tag else None
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return None
    if stated is None or image.format not in _PER_METRE:
        return stated
    return _meant_dpi(stated[0]), _meant_dpi(stated[1])


def _meant_dpi(stated: float) -> float:
    """The whole dots per inch that the file's whole dots per metre can stand for, if there are any.

    300 dpi is stored as 11,811 per metre and read as 299.9994, which would be under a limit of 300.
    """
    whole = float(round(stated)) if math.isfinite(stated) else stated
    return whole if abs(stated - whole) <= _HALF_A_DOT_PER_METRE else stated


def _jpeg_states_resolution(image: ImageFile) -> bool:
    """Whether the file has a resolution of its own: Pillow makes 72 out of none."""
    return image.info.get("jfif_unit") in (1, 2) or _EXIF_X_RESOLUTION in image.getexif()


def _upright(image: Image.Image) -> Image.Image:
    """Turned as its tag says; where it says nothing, itself: Pillow would copy every pixel."""
    if image.getexif().get(_EXIF_ORIENTATION, 1) == 1:
        return image
    return ImageOps.exif_transpose(image)


def _as_printed(image: ImageFile) -> Image.Image:
    """Pillow turns the values of every CMYK JPEG over; only those of Adobe's writers are stored so.

    With the APP14 segment "Adobe" (Adobe TN 5116, section 18) 255 means no ink, by the habit of the
    programs that write it; without it the samples are ink amounts, 255 = full (common practice).
    """
    if image.format in ("JPEG", "MPO") and image.mode == "CMYK" and "adobe" not in image.info:
        turned = Image.fromarray(255 - np.asarray(image), "CMYK")
        turned.info = dict(image.info)
        return turned
    return image


# --- alpha, depth -------------------------------------------------------------------------------


def _correct_key(image: ImageFile, data: bytes) -> None:
    """A PNG's transparent colour in the depth that Pillow decodes to (PNG, 11.3.1.1 tRNS)."""
    key = image.info.get("transparency")
    if key is None or not _is_png(data) or isinstance(key, bytes):
        return
    depth = data[24]
    if image.mode == "L" and depth < 8:
        image.info["transparency"] = key * 255 // (2**depth - 1)
    elif image.mode == "RGB" and depth == 16:
        image.info["transparency"] = tuple(value >> 8 for value in key)


def _split(image: Image.Image) -> tuple[Image.Image, NDArray[np.uint8] | None, bool]:
    """Colour without alpha, and alpha (H, W) uint8 where the file carries it."""
    key = image.info.get("transparency")
    if image.mode.startswith("I;16") and key is not None:
        alpha = np.where(np.asarray(image) == key, 0, 255).astype(np.uint8)
        return image, alpha, True
    if image.mode == "P" or (image.mode in ("1", "L", "RGB") and key is not None):
        image = image.convert("RGBA" if key is not None else "RGB")
    if image.mode == "PA":
        image = image.convert("RGBA")
    if image.mode in ("RGBA", "LA", "RGBa", "La"):
        straight = {"RGBa": "RGBA", "La": "LA"}.get(image.mode)
        image = image.convert(straight) if straight else image
        return image, alpha_array(image), True
    return image, None, False


def _eight_bit(image: Image.Image, *, white_is_zero: bool) -> Image.Image:
    """16-bit and float greys scaled to 8 bits; NaN becomes black."""
    if image.mode.startswith(("I", "F")):
        values = np.nan_to_num(np.asarray(image, np.float64), nan=0.0, posinf=0.0, neginf=0.0)
        most = _white_of(image.mode, values)
        scaled = np.clip(values / most, 0, 1)
        if white_is_zero:
            scaled = 1 - scaled
        return Image.fromarray(np.rint(scaled * 255).astype(np.uint8))
    if image.mode in ("1", "YCbCr", "HSV"):
        return image.convert("L" if image.mode == "1" else "RGB")
    return image


def _white_of(mode: str, values: NDArray[np.float64]) -> float:
    if mode == "F":
        return max(float(values.max(initial=0.0)), 1.0)
    return 65535.0
