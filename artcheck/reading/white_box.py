"""Opaque white boxes in art that is otherwise transparent: pictures pasted in with their paper."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import ReadingNote
from artcheck.imaging.components import pieces_and_holes

LOOKING_SIDE = 1500
"""Long side at which boxes are looked for: a box that matters is many pixels there."""

OPAQUE = 250
"""Alpha from which a pixel counts as opaque; 255 less the slips of lossy alpha."""

WHITE = 242
"""Least channel value of white that went through JPEG."""

LEAST_SHARE = 0.01
"""Part of the art's area from which a box is worth a word."""

BOX_FILL = 0.97
"""Part of its bounding box that a rectangle fills; a disc fills 0.79, a badge less than 0.95."""

RIM_WHITE = 0.95
"""Part of a box's rim that must be white for the box to be paper."""

INK_WITHIN = (0.005, 0.9)
"""Part of a box that is not white: less is a white shape of its own, more is no paper."""


def white_box_note(rgb: NDArray[np.uint8], alpha: NDArray[np.uint8]) -> tuple[ReadingNote, ...]:
    """A note where opaque white boxes stand behind parts of transparent art.

    Parameters
    ----------
    rgb
        (H, W, 3) uint8 sRGB.
    alpha
        (H, W) uint8, 255 = opaque.
    """
    boxes = sorted(_white_boxes(rgb, alpha), key=lambda box: -box[0] * box[1])
    if not boxes:
        return ()
    width, height = boxes[0]
    count = "An opaque white box" if len(boxes) == 1 else f"{len(boxes)} opaque white boxes"
    verb, size = (
        ("stands", f"{width} x {height} px")
        if len(boxes) == 1
        else ("stand", f"the largest {width} x {height} px")
    )
    text = (
        f"{count} ({size}) {verb} behind art that is transparent elsewhere:"
        " printed, it shows as a white box."
    )
    return (ReadingNote(id="white-box", text=text),)


def _white_boxes(rgb: NDArray[np.uint8], alpha: NDArray[np.uint8]) -> Iterator[tuple[int, int]]:
    """(width, height) in pixels of each white box."""
    step = max(-(-max(alpha.shape) // LOOKING_SIDE), 1)
    small = alpha[::step, ::step]
    opaque = np.asarray(cv2.threshold(small, OPAQUE - 1, 1, cv2.THRESH_BINARY)[1], np.uint8)
    total = cv2.countNonZero(opaque)
    if total == opaque.size:
        return
    pieces, _ = pieces_and_holes(opaque)
    for (top, left, bottom, right), area in zip(pieces.boxes.tolist(), pieces.areas, strict=True):
        width, height = right - left, bottom - top
        if area < LEAST_SHARE * total or area < BOX_FILL * width * height or min(width, height) < 8:
            continue
        part = rgb[::step, ::step][top : top + height, left : left + width]
        if _is_paper_with_ink(part):
            yield width * step, height * step


def _is_paper_with_ink(part: NDArray[np.uint8]) -> bool:
    white = np.asarray(part.min(axis=2) >= WHITE)
    rim = np.concatenate([white[1], white[-2], white[:, 1], white[:, -2]])
    inked = 1.0 - float(white.mean())
    return float(rim.mean()) >= RIM_WHITE and INK_WITHIN[0] <= inked <= INK_WITHIN[1]
