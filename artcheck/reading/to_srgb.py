"""Colour as sRGB: through the embedded ICC profile where there is one that fits."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.artwork import ReadingNote
from artcheck.reading.arrays import rgb_array
from artcheck.reading.press import CMYK_NOTE, cmyk_to_srgb

_NO_CHANGE_CODES = 1
"""A profile that moves no colour by more than this is sRGB, whatever its name: rounding."""

_UNUSABLE = ReadingNote(
    id="profile-unusable",
    text="The embedded colour profile is broken or does not fit: colours are read without it.",
)

_MODES = {"RGB": ("RGB", "RGBA"), "GRAY": ("L", "LA"), "CMYK": ("CMYK",), "LAB": ("LAB",)}
"""Pictures that a profile of each colour space describes."""


def to_srgb(
    image: Image.Image, profile: bytes | None
) -> tuple[NDArray[np.uint8], str | None, list[ReadingNote]]:
    """An 8-bit picture as (H, W, 3) uint8 sRGB, alpha left out.

    Returns the profile's own words where it was honoured, and notes.
    """
    notes: list[ReadingNote] = []
    if profile:
        converted, words, notes = _by_profile(image, profile)
        if converted is not None:
            return rgb_array(converted), words, notes
    if image.mode == "CMYK":
        return cmyk_to_srgb(np.asarray(image)), None, [*notes, CMYK_NOTE]
    if image.mode == "LAB":
        return rgb_array(_from_lab(image)), None, notes
    return rgb_array(image), None, notes


def _from_lab(image: Image.Image) -> Image.Image:
    from PIL import ImageCms

    found = _transform(ImageCms.createProfile("LAB"), "LAB", ImageCms)
    return _applied(ImageCms, image, found)


def _applied(cms: Any, image: Image.Image, transform: Any) -> Image.Image:
    result: Image.Image = cms.applyTransform(image, transform)
    return result


def _by_profile(
    image: Image.Image, data: bytes
) -> tuple[Image.Image | None, str | None, list[ReadingNote]]:
    """The picture through its embedded profile, or a note that says why not."""
    from PIL import ImageCms

    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        words = " ".join(ImageCms.getProfileDescription(profile).split()) or "unnamed profile"
        return _through(image, profile, ImageCms), words, []
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None, None, [_UNUSABLE]


def _through(image: Image.Image, profile: Any, cms: Any) -> Image.Image:
    space = str(profile.profile.xcolor_space).strip()
    if space == "RGB" and image.mode in ("L", "LA"):
        image = image.convert("RGB")  # a grey picture that kept its RGB original's profile
    if image.mode not in _MODES.get(space, ()):
        raise ValueError(f"a profile for {space} under a picture in {image.mode}")
    plain = {"RGBA": "RGB", "LA": "L"}.get(image.mode, image.mode)
    found = _transform(profile, plain, cms)
    if plain == "RGB" and _changes_nothing(found, cms):
        return image
    source = image if plain == image.mode else image.convert(plain)
    return _applied(cms, source, found)


def _transform(profile: Any, mode: str, cms: Any) -> Any:
    return cms.buildTransform(
        profile,
        cms.createProfile("sRGB"),
        mode,
        "RGB",
        renderingIntent=cms.Intent.RELATIVE_COLORIMETRIC,
        flags=cms.Flags.BLACKPOINTCOMPENSATION,
    )


def _changes_nothing(transform: Any, cms: Any) -> bool:
    """Whether colours all over the cube come out as they went in."""
    steps = np.linspace(0, 255, 6).round().astype(np.uint8)
    probe = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(6, -1, 3)
    there = np.asarray(cms.applyTransform(Image.fromarray(probe), transform))
    return int(np.abs(there.astype(int) - probe).max()) <= _NO_CHANGE_CODES
