"""What runs in a process of its own: one file's bytes become measurements and pictures.

A process, because it can be stopped in the middle and because art that exhausts the memory then
takes nothing else down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.measurements import Measurements
from artcheck.pipeline import examine
from artcheck.report.pictures import Picture, ink_picture, removed_picture
from artcheck.web.likeness import fingerprint


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What is kept of one piece of art: no pixels but the page's pictures."""

    measured: Measurements
    picture: Picture
    removed: Picture | None
    likeness: int


def work(
    tell: Callable[[str], None], data: bytes, name: str, background: BackgroundChoice, page: int
) -> Seen:
    """Measure and draw one file, telling each stage.

    Raises
    ------
    ArtcheckError
        The file gives no picture.
    """
    measured, cutout = examine(data, name, background=background, page=page, progress=tell)
    tell("drawing")
    return Seen(
        measured=measured,
        picture=ink_picture(cutout),
        removed=removed_picture(cutout),
        likeness=fingerprint(cutout),
    )
