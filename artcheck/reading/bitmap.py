"""Bitmaps through Pillow: every mode becomes 8-bit sRGB and, where it means something, alpha."""

from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from artcheck.domain.artwork import ReadingNote
from artcheck.errors import ArtFileError, DamagedArtError, NotArtError, TooLargeArtError
from artcheck.reading.budget import MOST_PIXELS, check_pixels

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

LIKELY_PPI = (10.0, 2600.0)
"""A resolution tag outside this range is a default or a slip, and says nothing."""

MM_TAG = 25.4


@dataclass(slots=True)
class Decoded:
    """A decoded picture: see `Artwork` for the arrays."""

    rgb: NDArray[np.uint8]
    alpha: NDArray[np.uint8] | None
    had_alpha: bool
    resolution_ppi: float | None
    profile: str | None
    notes: list[ReadingNote] = field(default_factory=list)


def decode(data: bytes, name: str) -> Decoded:
    """A bitmap file as sRGB and alpha.

    Raises
    ------
    DamagedArtError
        The file breaks off or contradicts itself.
    TooLargeArtError
        It has more pixels than the budget.
    NotArtError
        It only looks like a bitmap.
    """
    _check_claim(data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the budget below replaces Pillow's pixel warning
            with Image.open(io.BytesIO(data)) as image:
                check_pixels(*image.size, name)
                return _decoded(image)
    except ArtFileError:
        raise
    except UnidentifiedImageError:
        raise NotArtError(
            f"{name} starts like a picture but is none. Ask for the file again."
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
    if data.startswith(b"\x89PNG") and data[12:16] == b"IHDR" and len(data) >= 24:
        width, height = struct.unpack(">II", data[16:24])
        check_pixels(width, height, name)


def _decoded(image: ImageFile) -> Decoded:
    notes = list(_frame_notes(image))
    resolution = _resolution(image)
    upright = ImageOps.exif_transpose(image)
    if upright.size != image.size and resolution is not None:
        resolution = resolution[::-1]
    colour, alpha, had_alpha = _split(upright)
    rgb, profile, more = _to_srgb(colour, image.info.get("icc_profile"))
    ppi = _usable_ppi(resolution)
    return Decoded(rgb, _meaningful(alpha), had_alpha, ppi, profile, [*notes, *more])


def _frame_notes(image: ImageFile) -> list[ReadingNote]:
    frames = getattr(image, "n_frames", 1)
    if frames <= 1 or image.format == "PSD":
        return []
    words = "pages" if image.format == "TIFF" else "frames"
    return [
        ReadingNote(id="several-pages", text=f"The file has {frames} {words}; the first is read.")
    ]


def _resolution(image: ImageFile) -> tuple[float, float] | None:
    tag = image.info.get("dpi")
    try:
        return (float(tag[0]), float(tag[1])) if tag else None
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return None


def _usable_ppi(resolution: tuple[float, float] | None) -> float | None:
    """The tag where both directions agree and it is no default or slip."""
    if resolution is None:
        return None
    across, down = resolution
    likely = LIKELY_PPI[0] <= across <= LIKELY_PPI[1]
    agree = abs(across - down) <= 0.01 * max(abs(across), abs(down))
    return across if likely and agree else None


def _split(image: Image.Image) -> tuple[Image.Image, NDArray[np.uint8] | None, bool]:
    """Colour without alpha, and alpha (H, W) uint8 where the file carries it."""
    if image.mode == "P" or (image.mode in ("1", "L", "RGB") and "transparency" in image.info):
        image = image.convert("RGBA" if "transparency" in image.info else "RGB")
    if image.mode == "PA":
        image = image.convert("RGBA")
    if image.mode in ("RGBA", "LA", "RGBa", "La"):
        straight = {"RGBa": "RGBA", "La": "LA"}.get(image.mode)
        image = image.convert(straight) if straight else image
        alpha = np.asarray(image.getchannel("A"))
        return image, alpha, True
    return image, None, False


def _to_srgb(
    image: Image.Image, profile: bytes | None
) -> tuple[NDArray[np.uint8], str | None, list[ReadingNote]]:
    image = _eight_bit(image)
    notes: list[ReadingNote] = []
    if profile:
        converted, words, notes = _by_profile(image, profile)
        if converted is not None:
            return _rgb_array(converted), words, notes
    if image.mode == "CMYK":
        return _by_print_model(image), None, [*notes, _CMYK_NOTE]
    return _rgb_array(image), None, notes


def _eight_bit(image: Image.Image) -> Image.Image:
    """16-bit and float greys scaled to 8 bits; NaN becomes black."""
    if image.mode.startswith(("I", "F")):
        values = np.nan_to_num(np.asarray(image, np.float64), nan=0.0, posinf=0.0, neginf=0.0)
        most = _white_of(image.mode, values)
        return Image.fromarray(np.rint(np.clip(values / most, 0, 1) * 255).astype(np.uint8))
    if image.mode in ("1", "YCbCr", "HSV"):
        return image.convert("L" if image.mode == "1" else "RGB")
    return image


def _white_of(mode: str, values: NDArray[np.float64]) -> float:
    if mode == "F":
        return max(float(values.max(initial=0.0)), 1.0)
    return 65535.0


def _rgb_array(image: Image.Image) -> NDArray[np.uint8]:
    """(H, W, 3) uint8 of an 8-bit image, alpha dropped, with as few copies as may be."""
    if image.mode not in ("RGB", "RGBA", "L", "LA"):
        image = image.convert("RGB")
    array: NDArray[np.uint8] = np.asarray(image)
    code = {"L": cv2.COLOR_GRAY2RGB, "RGBA": cv2.COLOR_RGBA2RGB}.get(image.mode)
    if image.mode == "LA":
        array, code = np.ascontiguousarray(array[..., 0]), cv2.COLOR_GRAY2RGB
    return array if code is None else np.asarray(cv2.cvtColor(array, code), np.uint8)


def _meaningful(alpha: NDArray[np.uint8] | None) -> NDArray[np.uint8] | None:
    return None if alpha is None or int(alpha.min()) == 255 else alpha


# --- colour management --------------------------------------------------------------------------


def _by_profile(
    image: Image.Image, data: bytes
) -> tuple[Image.Image | None, str | None, list[ReadingNote]]:
    """The picture through its embedded profile, or a note that says why not."""
    from PIL import ImageCms

    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        words = " ".join(ImageCms.getProfileDescription(profile).split()) or "unnamed profile"
        if image.mode in ("RGB", "RGBA") and "srgb" in words.lower():
            return image, words, []
        return _transformed(image, profile, ImageCms), words, []
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        text = "The embedded colour profile is broken or does not fit: colours are read without it."
        return None, None, [ReadingNote(id="profile-unusable", text=text)]


def _transformed(image: Image.Image, profile: Any, cms: Any) -> Image.Image:
    plain = {"RGBA": "RGB", "LA": "L"}.get(image.mode)
    source = image.convert(plain) if plain else image
    result: Image.Image | None = cms.profileToProfile(
        source,
        profile,
        cms.createProfile("sRGB"),
        renderingIntent=cms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
        flags=cms.Flags.BLACKPOINTCOMPENSATION,
    )
    if result is None:
        raise ValueError("the profile gave no picture")
    return result


_CMYK_NOTE = ReadingNote(
    id="cmyk-without-profile",
    text=(
        "The art is CMYK without a profile: its colours are read as offset print on coated paper"
        " (CGATS TR 006-2007). Ask for RGB or for the profile where a colour matters."
    ),
)


def _by_print_model(image: Image.Image) -> NDArray[np.uint8]:
    """CMYK through the packaged print condition; each distinct colour once."""
    from artcheck.colour.print_model import packaged_model
    from artcheck.colour.spaces import D50_WHITE, lab_to_srgb8, lab_to_xyz, xyz_to_lab

    codes = np.ascontiguousarray(np.asarray(image)).view(np.uint32)[..., 0]
    distinct, index = np.unique(codes, return_inverse=True)
    tones = distinct.view(np.uint8).reshape(-1, 4).astype(np.float32) / 255
    model = packaged_model("tr006")
    against_paper = lab_to_xyz(model.lab(tones)) / lab_to_xyz(model.paper) * D50_WHITE
    return lab_to_srgb8(xyz_to_lab(against_paper))[index.reshape(codes.shape)]
