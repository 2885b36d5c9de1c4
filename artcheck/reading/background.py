"""The paper behind the art: recognised, removed or kept, with the reason in words."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Background, BackgroundChoice, ReadingNote
from artcheck.errors import NothingToPrintError
from artcheck.imaging.medians import median
from artcheck.imaging.reduce import reduced
from artcheck.reading.chequerboard import find_chequerboard
from artcheck.reading.white_box import white_box_note

BORDER_SHARE = 0.35
"""Part of the picture's border that must show paper: tightly cropped art touches all four sides."""

LEAST_TOLERANCE = 6
"""Codes (0-255) that paper may differ from its colour in a clean file: rounding, weak JPEG."""

MOST_TOLERANCE = 28
"""Codes beyond which noise is no longer told from light inks."""

NOISE_WIDTHS = 4.0
"""Tolerance in robust standard deviations of the border's noise: 1 in 16,000 falls outside."""

PAPER_LIGHTNESS = 70.0
PAPER_CHROMA = 28.0
"""Paper is light and at most tinted (cream, kraft bleach, scan casts); darker is a choice."""

UNEVEN_CODES = 5.0
"""Change of the paper across the page from which its lighting is fitted."""

SURFACE_SIDE = 160
"""Long side of the reduced picture on which uneven light is fitted."""

ENCLOSED_SHARE = 0.002
"""Share of the page in paper-coloured areas inside the art that is worth a question."""

EMPTY_SHARE = 2e-6
"""Share of inked pixels under which a page is empty: 5 specks of dust on 2.4 megapixels."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What was found behind the art; ``paper`` as in `Artwork`."""

    background: Background
    paper: NDArray[np.bool_] | None = None
    notes: tuple[ReadingNote, ...] = ()


def find_ground(
    rgb: NDArray[np.uint8],
    alpha: NDArray[np.uint8] | None,
    choice: BackgroundChoice,
    name: str,
) -> Ground:
    """Decide what stands behind the art.

    Parameters
    ----------
    rgb
        (H, W, 3) uint8 sRGB.
    alpha
        (H, W) uint8 or None.

    Raises
    ------
    NothingToPrintError
        Every pixel is transparent, or the page is nothing but paper.
    """
    if alpha is not None:
        return _transparent(rgb, alpha, choice, name)
    if choice == "keep":
        return Ground(Background(kind="kept", hex=None, reason="the order keeps the background"))
    ring = _ring(rgb)
    border = _border_colour(ring)
    if choice == "auto":
        refused = _drawn_transparency(rgb, ring) or _why_keep(border)
        if refused is not None:
            return refused
    return _removed(rgb, border, choice, name)


def _transparent(
    rgb: NDArray[np.uint8], alpha: NDArray[np.uint8], choice: BackgroundChoice, name: str
) -> Ground:
    if int(alpha.max(initial=0)) == 0:
        raise NothingToPrintError(
            f"{name} is fully transparent: nothing to print. Ask for the file that shows the art."
        )
    reason = "the file is transparent around the art"
    if choice == "remove":
        reason += "; there is no paper to remove"
    found = Background(kind="transparent", hex=None, reason=reason)
    return Ground(found, notes=white_box_note(rgb, alpha))


def _drawn_transparency(rgb: NDArray[np.uint8], ring: NDArray[np.uint8]) -> Ground | None:
    board = find_chequerboard(rgb, ring)
    if board is None:
        return None
    reason = f"the art stands on {board.words}: drawn, not transparent"
    text = (
        f"The art stands on {board.words}, drawn as pixels: it imitates transparency and would be"
        " printed."
    )
    note = ReadingNote(id="drawn-transparency", text=text)
    return Ground(Background(kind="kept", hex=None, reason=reason), notes=(note,))


# --- the border ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Border:
    """The commonest colour along the picture's border and how much of it there is."""

    rgb: NDArray[np.float64]
    tolerance: int
    share: float
    lightness: float
    chroma: float

    @property
    def hex(self) -> str:
        return "#{:02x}{:02x}{:02x}".format(*np.rint(self.rgb).astype(int))


def _border_colour(pixels: NDArray[np.uint8]) -> _Border:
    ring = pixels.astype(np.int16)
    mode = _commonest(ring)
    near = np.abs(ring - mode).max(axis=1) <= MOST_TOLERANCE
    centre = median(ring[near], axis=0)
    apart = np.abs(ring[near] - centre).max(axis=1)
    noise = float(median(apart)) * 1.4826
    tolerance = int(np.clip(np.ceil(NOISE_WIDTHS * noise), LEAST_TOLERANCE, MOST_TOLERANCE))
    share = float((np.abs(ring - centre).max(axis=1) <= tolerance).mean())
    lab = srgb8_to_lab(np.rint(centre).astype(np.uint8)[np.newaxis])[0]
    return _Border(centre, tolerance, share, float(lab[0]), float(np.hypot(lab[1], lab[2])))


def _ring(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(N, 3) the pixels of the picture's outermost two rows and columns."""
    top, bottom = rgb[:2].reshape(-1, 3), rgb[-2:].reshape(-1, 3)
    left, right = rgb[:, :2].reshape(-1, 3), rgb[:, -2:].reshape(-1, 3)
    return np.concatenate([top, bottom, left, right])


def _commonest(ring: NDArray[np.int16]) -> NDArray[np.int16]:
    """The fullest 16-code cell's median colour."""
    cells = (ring >> 4).astype(np.int32) @ np.array([256, 16, 1], np.int32)
    fullest = int(np.bincount(cells).argmax())
    centre: NDArray[np.int16] = median(ring[cells == fullest], axis=0).astype(np.int16)
    return centre


def _why_keep(border: _Border) -> Ground | None:
    """A reason to leave the background alone, or None."""
    if border.share < BORDER_SHARE:
        reason = f"the border is not of one colour ({border.share:.0%} at most): art to the edge"
        return Ground(Background(kind="kept", hex=None, reason=reason))
    if border.lightness < PAPER_LIGHTNESS or border.chroma > PAPER_CHROMA:
        reason = f"the art stands in a box of {border.hex}, too strong a colour for paper"
        note = ReadingNote(
            id="solid-box",
            text=(
                f"The art stands in a solid box of {border.hex}, which will be printed."
                " If it is only background, ask for the art without it."
            ),
        )
        return Ground(Background(kind="kept", hex=border.hex, reason=reason), notes=(note,))
    return None


# --- removing -----------------------------------------------------------------------------------


def _removed(
    rgb: NDArray[np.uint8], border: _Border, choice: BackgroundChoice, name: str
) -> Ground:
    like_paper, uneven = _like_paper(rgb, border)
    inked = 1.0 - cv2.countNonZero(like_paper) / like_paper.size
    if inked < EMPTY_SHARE:
        raise NothingToPrintError(
            f"{name} is an empty page of {border.hex}: nothing to print. Ask for the art again."
        )
    enclosed = _enclosed_share(like_paper)
    words = "unevenly lit paper" if uneven else "paper"
    asked = "as ordered" if choice == "remove" else f"{border.share:.0%} of the border shows it"
    reason = f"{words} of {border.hex} removed: {asked}"
    notes: tuple[ReadingNote, ...] = ()
    if enclosed >= ENCLOSED_SHARE:
        reason += f"; {enclosed:.1%} of the page is paper-coloured inside the art, removed too"
        notes = (
            ReadingNote(
                id="enclosed-paper",
                text=(
                    f"{enclosed:.1%} of the page is paper-coloured inside the art: white ink or"
                    " open garment? It is read as open."
                ),
            ),
        )
    found = Background(kind="removed", hex=border.hex, reason=reason)
    return Ground(found, like_paper.view(np.bool_), notes)


def _like_paper(rgb: NDArray[np.uint8], border: _Border) -> tuple[NDArray[np.uint8], bool]:
    """(H, W) uint8, 1 where a pixel has the paper's colour; and whether the light is uneven."""
    surface = _light(rgb, border)
    if surface is None:
        low = np.clip(border.rgb - border.tolerance, 0, 255)
        high = np.clip(border.rgb + border.tolerance, 0, 255)
        near = np.asarray(cv2.inRange(rgb, low, high), np.uint8)
        return _ones(near), False
    height, width = rgb.shape[:2]
    paper = cv2.resize(surface, (width, height), interpolation=cv2.INTER_LINEAR)
    apart = cv2.absdiff(rgb, np.clip(np.rint(paper), 0, 255).astype(np.uint8))
    limit = (border.tolerance,) * 3
    return _ones(np.asarray(cv2.inRange(apart, (0, 0, 0), limit), np.uint8)), True


def _ones(mask: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """0 and 255 as 0 and 1."""
    return np.asarray(cv2.threshold(mask, 0, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _light(rgb: NDArray[np.uint8], border: _Border) -> NDArray[np.float32] | None:
    """(h, w, 3) the paper's colour over a reduced page, or None where it is even.

    A quadratic surface, fitted to what looks like paper and refitted to what lies near the fit:
    lamps and book gutters shade a page smoothly. One that is level all along the border is level
    inside as well, so that paper whose border is even needs none: what differs inside is ink.
    """
    scale = SURFACE_SIDE / max(rgb.shape[:2])
    if scale >= 1 or min(rgb.shape[:2]) * scale < 1:
        return None
    height, width = (max(round(side * scale), 1) for side in rgb.shape[:2])
    small = reduced(rgb, (width, height))
    values = small.reshape(-1, 3).astype(np.float64)
    terms = _quadratic_terms(*small.shape[:2])
    paper = np.abs(values - border.rgb).max(axis=1) <= MOST_TOLERANCE
    rim = np.ones(small.shape[:2], bool)
    rim[1:-1, 1:-1] = False
    if _range(values[paper & rim.ravel()]) < UNEVEN_CODES:
        return None
    surface = np.broadcast_to(border.rgb, values.shape)
    for _ in range(3):
        if paper.sum() < 4 * terms.shape[1]:
            return None
        surface = terms @ np.linalg.lstsq(terms[paper], values[paper], rcond=None)[0]
        paper = np.abs(values - surface).max(axis=1) <= border.tolerance
    if np.ptp(surface[paper], axis=0).max(initial=0.0) < UNEVEN_CODES:
        return None
    return surface.reshape(small.shape).astype(np.float32)


def _range(values: NDArray[np.float64]) -> float:
    """Widest channel's range of (n, 3) colours, without art that touches the border here and there.

    Between the 2nd and 98th percentile.
    """
    if not values.size:
        return 0.0
    low, high = np.percentile(values, (2, 98), axis=0)
    return float((high - low).max())


def _quadratic_terms(height: int, width: int) -> NDArray[np.float64]:
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j].reshape(2, -1)
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)


def _enclosed_share(like_paper: NDArray[np.uint8]) -> float:
    """Share of the page that has the paper's colour but is cut off from the border."""
    padded = cv2.copyMakeBorder(like_paper, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1)
    cv2.floodFill(padded, None, (0, 0), 2)
    return cv2.countNonZero(cv2.inRange(padded, 1, 1)) / like_paper.size
