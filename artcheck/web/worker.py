"""What runs in a process of its own: one file's bytes become measurements and pictures.

A process, because it can be stopped in the middle and because art that exhausts the memory then
takes nothing else down.
"""

from __future__ import annotations

import sys
import traceback
from dataclasses import dataclass
from typing import Any, Protocol

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.measurements import Measurements
from artcheck.errors import ArtcheckError
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


class Sender(Protocol):
    """The sending end of a pipe."""

    def send(self, obj: Any) -> None:
        """Send anything that can be pickled."""


def work(pipe: Sender, data: bytes, name: str, background: BackgroundChoice, page: int) -> None:
    """Send ("doing", words) at each stage, then ("seen", Seen) or ("fault", words)."""
    try:
        measured, cutout = examine(
            data,
            name,
            background=background,
            page=page,
            progress=lambda words: pipe.send(("doing", words)),
        )
        pipe.send(("doing", "drawing"))
        seen = Seen(
            measured=measured,
            picture=ink_picture(cutout),
            removed=removed_picture(cutout),
            likeness=fingerprint(cutout),
        )
        pipe.send(("seen", seen))
    except ArtcheckError as stop:
        pipe.send(("fault", str(stop)))
    except MemoryError:
        pipe.send(("fault", f"{name} needs more memory than there is. Send it smaller."))
    except Exception as bug:
        traceback.print_exc(file=sys.stderr)
        kind = type(bug).__name__
        pipe.send(("fault", f"A fault in artcheck itself ({kind}). Please report it."))
