"""CMYK without a profile: through the packaged print condition, and said so."""

from __future__ import annotations

import functools
import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.artwork import ReadingNote

MOST_DISTINCT = 20_000
"""Mixtures up to which each is reckoned from the print model itself; photographs hold more."""

_STEPS = 13
"""Steps of an ink in the table for photographs: 99 of 100 mixtures within 1.5 CIEDE2000."""

CMYK_NOTE = ReadingNote(
    id="cmyk-without-profile",
    text=(
        "The art is CMYK without a profile: its colours are read as offset print on coated paper"
        " (CGATS TR 006-2007). Ask for RGB or for the profile where a colour matters."
    ),
)


def cmyk_to_srgb(inks: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Ink amounts (H, W, 4) uint8, 255 = full, as they print: (H, W, 3) uint8 sRGB, paper white."""
    codes = np.ascontiguousarray(inks).view(np.uint32)[..., 0]
    some = np.unique(codes[:: max(codes.shape[0] // 64, 1)])
    if len(some) <= MOST_DISTINCT:
        distinct, index = np.unique(codes, return_inverse=True)
        if len(distinct) <= MOST_DISTINCT:
            tones = distinct.view(np.uint8).reshape(-1, 4).astype(np.float32) / 255
            return _against_paper_srgb(tones)[index.reshape(codes.shape)]
    return _by_table(inks)


def _against_paper_lab(tones: NDArray[np.floating]) -> NDArray[np.floating]:
    """CIELAB D50 (N, 3) of ink amounts (N, 4), 0-1, with the paper as white."""
    from artcheck.colour.print_model import packaged_model
    from artcheck.colour.spaces import D50_WHITE, lab_to_xyz, xyz_to_lab

    model = packaged_model("tr006")
    return xyz_to_lab(lab_to_xyz(model.lab(tones)) / lab_to_xyz(model.paper) * D50_WHITE)


def _against_paper_srgb(tones: NDArray[np.floating]) -> NDArray[np.uint8]:
    from artcheck.colour.spaces import lab_to_srgb8

    return lab_to_srgb8(_against_paper_lab(tones))


def _by_table(inks: NDArray[np.uint8]) -> NDArray[np.uint8]:
    from PIL import ImageCms

    found = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(packaged_profile())),
        ImageCms.createProfile("sRGB"),
        "CMYK",
        "RGB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    height, width = inks.shape[:2]
    image = Image.frombytes("CMYK", (width, height), np.ascontiguousarray(inks).tobytes())
    return np.asarray(ImageCms.applyTransform(image, found))


@functools.cache
def packaged_profile() -> bytes:
    """The packaged print condition, paper as white, as an ICC profile."""
    from artcheck.colour.icc_writing import cmyk_profile

    steps = np.linspace(0, 1, _STEPS, dtype=np.float32)
    grid = np.stack(np.meshgrid(*(steps,) * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    return cmyk_profile(_against_paper_lab(grid).reshape((_STEPS,) * 4 + (3,)), "CGATS TR 006-2007")
