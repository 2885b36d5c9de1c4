"""What to tell of drawings, whichever format they come in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from artcheck.domain.artwork import ReadingNote

_MOST_TOLD = 4
"""Kinds of lost parts that are named; more do not help."""


def undrawn_note(parts: Iterable[str]) -> list[ReadingNote]:
    """A note where parts of the drawing are not in the rendering; each given in words."""
    counted = Counter(parts)
    if not counted:
        return []
    words = [w if n == 1 else f"{w} ({n} times)" for w, n in sorted(counted.items())]
    told = ", ".join(words[:_MOST_TOLD]) + (", and more" if len(words) > _MOST_TOLD else "")
    text = f"Parts could not be drawn: {told}. What was measured lacks them."
    return [ReadingNote(id="parts-not-drawn", text=text)]


def wraps_note(sizes: Sequence[tuple[int, int]]) -> list[ReadingNote]:
    """A note that a drawing is nothing but a wrapper around pictures of these sizes."""
    if not sizes:
        return []
    width, height = max(sizes)
    what = "a picture" if len(sizes) == 1 else f"{len(sizes)} pictures, the largest"
    text = (
        f"The file is no vector art: it only wraps {what} of {width} x {height} pixels,"
        " and is judged by them."
    )
    return [ReadingNote(id="wraps-bitmap", text=text)]
