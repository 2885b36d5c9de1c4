"""What a TIFF holds beside its picture: more planes, and which way its greys run.

Tags are those of TIFF revision 6.0 (section 8, and "CMYK images" in section 16).
"""

from __future__ import annotations

from PIL import Image

from artcheck.reading.planes import ExtraPlanes, named_extra
from artcheck.reading.resources import blocks

_PHOTOMETRIC, _SAMPLES, _EXTRA_SAMPLES, _INK_NAMES = 262, 277, 338, 333
_EDITOR_BLOCKS = 34377
"""Private tag in which image editors keep their resource blocks, as in a PSD."""

_WHITE_IS_ZERO = 0
_PICTURE_PLANES = {0: 1, 1: 1, 2: 3, 3: 1, 5: 4, 6: 3, 8: 3}
"""Planes of the picture itself by photometric interpretation."""

_ALPHA = (1, 2)
"""Extra samples that are transparency: associated, unassociated."""


def white_is_zero(image: Image.Image) -> bool:
    """Whether a deep grey runs from white to black; Pillow turns only 8 bits and fewer."""
    tags = getattr(image, "tag_v2", None)
    return tags is not None and tags.get(_PHOTOMETRIC) == _WHITE_IS_ZERO


def extra_planes(image: Image.Image) -> ExtraPlanes:
    """Planes beside picture and transparency, none for other formats."""
    tags = getattr(image, "tag_v2", None)
    if tags is None:
        return ExtraPlanes()
    stated = tuple(tags.get(_EXTRA_SAMPLES) or ())
    picture = _PICTURE_PLANES.get(tags.get(_PHOTOMETRIC, 1), 1)
    count = int(tags.get(_SAMPLES, 1)) - picture
    count -= any(kind in _ALPHA for kind in stated) or (count > 0 and not stated)
    names = [name for name in str(tags.get(_INK_NAMES, "")).split("\x00") if name]
    return named_extra(count, blocks(bytes(tags.get(_EDITOR_BLOCKS) or b"")), names[picture:])
