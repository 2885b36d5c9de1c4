"""Plates as files: TIFF with one bit a pixel and CCITT Group 4 compression."""

from __future__ import annotations

import io
import re
import unicodedata
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, TiffImagePlugin

from artcheck.separation.plates import Plate

Mask = NDArray[np.bool_]

_ONE_STRIP = 1 << 40
"""Bytes: larger than any plate, so that all of it is one strip, which a PDF can embed as it is."""

LONGEST_NAME = 60
"""Letters of an ink's name in its file's: some systems end names at 143 bytes."""

_STRIP_OFFSETS, _STRIP_BYTE_COUNTS, _DESCRIPTION = 273, 279, 270


@dataclass(frozen=True, slots=True)
class PlateFile:
    """One plate, packed.

    Attributes
    ----------
    name
        File name: order of printing and the ink's name.
    tiff
        The file.
    strip
        The CCITT Group 4 data inside it.
    height_px, width_px
        Its size, margin included.
    """

    name: str
    tiff: bytes
    strip: bytes
    height_px: int
    width_px: int


def plate_file(plate: Plate, page: Mask, ppi: float) -> PlateFile:
    """Pack one plate; ``page`` is (H, W) bool, True where ink prints, which the file shows black.

    Resolution stands in the file as pixels per inch. No date is written.
    """
    height, width = page.shape
    image = Image.frombytes("1", (width, height), np.packbits(~page, axis=1).tobytes())
    packed = io.BytesIO()
    image.save(
        packed,
        "TIFF",
        compression="group4",
        dpi=(ppi, ppi),
        strip_size=_ONE_STRIP,
        tiffinfo={_DESCRIPTION: ascii_of(f"{plate.order} {plate.name}")},
    )
    data = packed.getvalue()
    return PlateFile(file_name(plate), data, _strip(data), height, width)


def _strip(tiff: bytes) -> bytes:
    """The one strip of a TIFF of our own, found by its directory.

    Opened as a picture, a large plate would raise Pillow's guard against too many pixels.
    """
    tags = TiffImagePlugin.ImageFileDirectory_v2(tiff[:8])
    file = io.BytesIO(tiff)
    file.seek(tags.next)
    tags.load(file)
    (start,), (length,) = tags[_STRIP_OFFSETS], tags[_STRIP_BYTE_COUNTS]
    return tiff[start : start + length]


def file_name(plate: Plate) -> str:
    """``NN-ink-name.tif``: small letters and digits of ASCII, so that every system takes it."""
    words = re.sub(r"[^a-z0-9]+", "-", ascii_of(plate.name).lower()).strip("-")
    return f"{plate.order:02d}-{words[:LONGEST_NAME] or 'ink'}.tif"


def ascii_of(text: str) -> str:
    """The text without accents; what has no ASCII letter is left out."""
    plain = unicodedata.normalize("NFKD", text)
    return plain.encode("ascii", "ignore").decode()
