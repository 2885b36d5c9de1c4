"""What is too much, looked at before anything is decoded. One place for every budget."""

from __future__ import annotations

from typing import Final

from artcheck.errors import TooLargeArtError

MOST_BYTES: Final = 600 * 1024**2
"""File size: a legal 22 x 60 in roll at 300 ppi is 476 MB without compression."""

MOST_PIXELS: Final = 170_000_000
"""Pixels of one picture: that roll has 119 million; decoded they take 680 MB as RGBA."""

LONGEST_SIDE: Final = 60_000
"""Pixels along one side: 200 in at 300 ppi. Beyond it, the header lies."""

RENDER_SIDE: Final = 2400
"""Long side of a drawing's rendering: 200 ppi on a 12 in print, where a 1 pt line is 2.8 px."""

MOST_ELEMENTS: Final = 200_000
"""Elements of an SVG after its ``use`` references are followed."""

MOST_DEPTH: Final = 200
"""Elements of an SVG within each other; drawing programs nest some tens."""

MOST_SVG_BYTES: Final = 64 * 1024**2

MOST_TEXT: Final = 20_000
"""Characters of live text in an SVG: several close-set pages. Shaping ten takes 1 ms."""

MOST_ATTRIBUTES: Final = 1_000
"""Attributes of one element: the renderer compares each with each."""

MOST_LAYER_PIXELS: Final = 400_000_000
"""Pixels of pictures within pictures (masks, patterns, groups with opacity) that a renderer holds
at once, 1.6 GB: some seventy deep on a page of `RENDER_SIDE`, two on the largest."""

MOST_EFFECT_PIXELS: Final = 2_000_000_000
"""Pixels that a drawing's filters pass over: about a minute of drawing."""

MOST_OPERATORS: Final = 10_000_000
"""Operators of a PDF page, those of each part as often as it is drawn: some ten seconds."""

MOST_UNFOLDED: Final = 2_000
"""Parts that a fade or a layer's condition in a PDF unfolds to; a fade has some tens."""


def check_pixels(width: int, height: int, name: str) -> None:
    """Refuse a picture over the budget.

    Raises
    ------
    TooLargeArtError
        Too many pixels in all or along one side.
    """
    if width * height > MOST_PIXELS or max(width, height) > LONGEST_SIDE:
        raise TooLargeArtError(
            f"{name} says it has {width} x {height} pixels; artcheck reads up to"
            f" {MOST_PIXELS // 1_000_000} million and {LONGEST_SIDE} along a side."
            " Send it at print size and 300 ppi."
        )
