"""Screens that the art already carries: dots on a square lattice, found in the spectrum.

A screen of period ``p`` at angle ``t`` puts two peaks of like height into the spectrum, ``1 / p``
from its centre and a quarter turn apart. Stripes have one peak and no partner; photographs and worn
textures spread their energy. Checks, nets and dotted patterns are lattices too: they count as a
screen where they repeat `MIN_REPEATS` times each way within a tile, which is when they print as
one; a checkered flag of fewer fields stays a drawing. Peaks are placed between the samples of the
spectrum where the tile's own Fourier integral is highest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import HalftoneScreen
from artcheck.imaging.medians import median
from artcheck.imaging.tiles import sums_along

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Floats = NDArray[np.floating]
Bytes = NDArray[np.uint8]
Complexes = NDArray[np.complexfloating]

TILE_PX = 256
"""Side of a tile: fifteen dots and more at 300 ppi and 20 lpi."""

TRIED_TILES = 6
"""Liveliest tiles that are searched; a screen is livelier than any drawing."""

SMALLEST_TILE_PX = 96
"""Art with a shorter side holds too few dots."""

MIN_REPEATS = 12
"""Periods across a tile: 144 dots and more. Fewer are a pattern that someone drew."""

FINEST_PERIOD_PX = 2.6
"""Under this a dot has no pixel of its own and the spectrum folds over."""

LEAST_SWING = 10.0
"""Amplitude in levels of a screen's ground wave; JPEG's blocks stay under 4."""

PARTNER_SHARE = 0.35
"""Height of the weaker of the two peaks against the stronger: oval dots reach 0.5."""

PEAK_SHARE = 0.6
"""Share of the energy within 13 x 13 samples that the inner 5 x 5 must hold; texture has 0.15."""

SQUARE = 0.012
"""By how much, of its length, one wave may miss the other turned by 90 degrees. Screens measured at
JPEG 75 miss by 0.002, two chance peaks by 0.03 and more."""

LATTICE_SHARE = 0.35
"""Share of a tile's energy (slow changes left out) that its lattices hold."""

SLOW_CYCLES = 8
"""Cycles across a tile that count as slow changes: shapes, fades, the screen's own picture."""

SECOND_SCREEN = 0.3
"""Height of a further screen's peak against the first; several inks are alike in strength."""

MAX_SCREENS = 4
"""Process printing has four."""

SAME_PERIOD, SAME_ANGLE_DEG = 0.03, 2.0
"""Within these, two tiles hold the same screen."""

DOT_SHARE = 8.0
"""Per cent of a lattice's cell, at its darkest, that is the dot's centre whatever the tint."""

LIVELY_STEPS = 0.06
"""Steps per pixel along rows under which no tile can hold a screen: two a period at 33 px."""

SAMPLED_ROWS = 24
"""Every so manieth row is looked at: ten of a tile, on no multiple of a usual period."""

STEP_LEVELS = 16
"""Levels that make such a step."""


@dataclass(frozen=True, slots=True)
class Lattice:
    """Two frequency vectors, (row, col) in cycles per pixel, a quarter turn apart."""

    first: tuple[float, float]
    second: tuple[float, float]

    @property
    def period_px(self) -> float:
        """Distance between neighbouring dots."""
        return float(2 / (np.hypot(*self.first) + np.hypot(*self.second)))

    @property
    def is_square(self) -> bool:
        """Whether the two waves are alike in length and a quarter turn apart, as a screen's are."""
        one, other = complex(*self.first), complex(*self.second)
        quotient = other / one
        return (
            abs(quotient.imag) > 0 and abs(quotient - np.copysign(1, quotient.imag) * 1j) < SQUARE
        )

    @property
    def angle_deg(self) -> float:
        """Angle of the lattice against the horizontal, counter-clockwise, 0 <= angle < 90."""
        turns = [np.arctan2(-row, col) % (np.pi / 2) for row, col in (self.first, self.second)]
        # A quarter turn is the circle here: average on it.
        mean = np.angle(np.mean(np.exp(4j * np.array(turns)))) / 4
        return float(np.degrees(mean % (np.pi / 2))) % 90.0


@dataclass(frozen=True, slots=True)
class Screens:
    """The screens of an art and the tiles that carry them."""

    screens: tuple[HalftoneScreen, ...]
    tiles: tuple[Box, ...]


def find_screens(scan: Scan) -> Screens:
    """Every screen of the art, the strongest first."""
    boxes = _lively_tiles(scan)
    found = [(box, _lattices(_signals(scan, box))) for box in boxes[:TRIED_TILES]]
    groups = _grouped([(box, lattice) for box, many in found for lattice in many])
    if not groups:
        return Screens((), ())
    carrying = _carrying_tiles(scan, boxes, [group[0][1] for group in groups])
    where = _around([box for box in boxes if box in carrying])
    screens = tuple(_screen(scan, group, where) for group in groups[:MAX_SCREENS])
    return Screens(screens, tuple(sorted(carrying)))


# --- tiles --------------------------------------------------------------------------------------


def _lively_tiles(scan: Scan) -> list[Box]:
    """Tiles with enough steps along their rows to hold a screen, liveliest first."""
    row0, col0, row1, col1 = scan.box
    side = min(TILE_PX, row1 - row0, col1 - col0)
    if side < SMALLEST_TILE_PX:
        return []
    cols = _starts(col0, col1, side)
    steps: dict[Box, float] = {}
    for row in _starts(row0, row1, side):
        stepped = _steps(scan, np.s_[row : row + side : SAMPLED_ROWS, col0:col1])
        sums = sums_along(stepped, [(col - col0, col - col0 + side - 1) for col in cols])
        for col, count in zip(cols, sums, strict=True):
            share = count / (len(stepped) * (side - 1))
            steps[row, col, row + side, col + side] = share
    lively = [box for box in steps if steps[box] >= LIVELY_STEPS]
    return sorted(lively, key=lambda box: (-steps[box], box))


def _starts(first: int, last: int, side: int) -> list[int]:
    """Tile starts that cover first..last evenly."""
    count = -(-(last - first) // side)
    if count == 1:
        return [first]
    return [first + round(i * (last - first - side) / (count - 1)) for i in range(count)]


def _steps(scan: Scan, part: tuple[slice, slice]) -> Bytes:
    """(h, w - 1) uint8, 1 where neighbours along a row differ by a step in a channel or coverage.

    Of art only: colours beside transparent pixels do not count.
    """
    rgb, drawn = scan.rgb[part], scan.coverage[part]
    red, green, blue = cv2.split(cv2.absdiff(rgb[:, 1:], rgb[:, :-1]))
    step = cv2.max(cv2.max(red, green), blue)
    art = cv2.min(drawn[:, 1:], drawn[:, :-1])
    step = cv2.max(cv2.copyTo(step, art), cv2.absdiff(drawn[:, 1:], drawn[:, :-1]))
    return np.asarray(cv2.threshold(step, STEP_LEVELS, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _signals(scan: Scan, box: Box) -> Floats:
    """(C, n, n) float64: what inks take away, channel by channel; coverage too where it varies."""
    part = np.s_[box[0] : box[2], box[1] : box[3]]
    taken = 255.0 - scan.rgb[part].astype(np.float64)
    if scan.alpha is None:
        return np.moveaxis(taken, 2, 0)
    share = scan.alpha[part].astype(np.float64)
    return np.concatenate([np.moveaxis(taken * (share / 255)[..., None], 2, 0), share[None]])


# --- lattices -----------------------------------------------------------------------------------


def _lattices(signals: Floats) -> list[Lattice]:
    """The lattices of one tile, strongest first; empty where its energy lies elsewhere."""
    side = signals.shape[1]
    window = np.outer(np.hanning(side), np.hanning(side))
    level = signals - signals.mean(axis=(1, 2), keepdims=True)
    spectrum = np.fft.fft2(level * window)
    power = np.fft.fftshift((np.abs(spectrum) ** 2).sum(axis=0))
    radius = _radius(side)
    power[radius < SLOW_CYCLES] = 0
    total = float(power.sum())
    searchable = (radius >= MIN_REPEATS) & (radius <= side / FINEST_PERIOD_PX)
    found: list[Lattice] = []
    strongest = 0.0
    while len(found) < MAX_SCREENS:
        lattice, swing = _strongest_lattice(power, searchable, level * window)
        swing /= window.sum() / 2
        if lattice is None or swing < max(LEAST_SWING, SECOND_SCREEN * strongest):
            break
        strongest = max(strongest, swing)
        found.append(lattice)
        _take_out(power, lattice)
    held = 1 - float(power.sum()) / max(total, 1e-9)
    return found if held >= LATTICE_SHARE else []


def _radius(side: int) -> Floats:
    """(side, side) distance from the centre of a shifted spectrum, in cycles a tile."""
    axis = np.arange(side) - side // 2
    return np.asarray(np.hypot(axis[:, None], axis[None, :]))


def _strongest_lattice(
    power: Floats, searchable: NDArray[np.bool_], windowed: Floats
) -> tuple[Lattice | None, float]:
    """The highest peak that has a partner a quarter turn away; and its height, as a magnitude."""
    side = len(power)
    half = side // 2
    peak = int(np.argmax(np.where(searchable, power, 0)))
    row, col = divmod(peak, side)
    height = float(power[row, col])
    if height <= 0 or not _stands_alone(power, (row, col)):
        return None, 0.0
    first = _refined(windowed, (row - half) / side, (col - half) / side)
    turned = round(half - first[1] * side), round(half + first[0] * side)
    partner = _highest_near(power, turned, 2)
    if partner is None or power[partner] < PARTNER_SHARE**2 * height:
        return None, 0.0
    second = _refined(windowed, (partner[0] - half) / side, (partner[1] - half) / side)
    lattice = Lattice(first, second)
    return (lattice if lattice.is_square else None), float(np.sqrt(height))


def _stands_alone(power: Floats, peak: tuple[int, int]) -> bool:
    """Whether a peak holds most of the energy around it: texture spreads, a screen does not."""
    row, col = peak
    around = power[max(0, row - 6) : row + 7, max(0, col - 6) : col + 7].sum()
    top = power[max(0, row - 2) : row + 3, max(0, col - 2) : col + 3].sum()
    return bool(top >= PEAK_SHARE * around)


def _highest_near(power: Floats, place: tuple[int, int], reach: int) -> tuple[int, int] | None:
    """The highest sample within ``reach`` of a place; None outside the spectrum."""
    row, col = place
    if not (reach <= row < len(power) - reach and reach <= col < len(power) - reach):
        return None
    near = power[row - reach : row + reach + 1, col - reach : col + reach + 1]
    down, right = divmod(int(np.argmax(near)), 2 * reach + 1)
    return row - reach + down, col - reach + right


def _refined(windowed: Floats, row: float, col: float) -> tuple[float, float]:
    """A frequency (cycles per pixel) moved to where the tile's response is highest.

    Newton's parabola through the magnitudes at a third of a sample, repeated: the window's main
    lobe is smooth, so three rounds leave less than a thousandth of a sample.
    """
    side = windowed.shape[1]
    axis = np.arange(side)
    strongest = windowed[np.argmax(np.abs(_response(windowed, row, col, axis)))][None]
    step = 1 / 3 / side
    for _ in range(3):
        at = [
            float(np.log(np.abs(_response(strongest, row + a * step, col + b * step, axis)[0])))
            for a, b in ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1))
        ]
        row += step * _parabola_top(at[1], at[0], at[2])
        col += step * _parabola_top(at[3], at[0], at[4])
    return row, col


def _parabola_top(before: float, here: float, after: float) -> float:
    """Where, in steps from the middle, a parabola through three values peaks; at most 1.5 away."""
    bend = before - 2 * here + after
    return float(np.clip(0.5 * (before - after) / bend, -1.5, 1.5)) if bend < 0 else 0.0


def _response(signals: Floats, row: float, col: float, axis: NDArray[np.int_]) -> Complexes:
    """(C,) the Fourier integral of each signal at one frequency."""
    right = 2 * np.pi * col * axis
    rows = signals @ np.stack([np.cos(right), np.sin(right)], axis=1)
    return np.asarray((rows[..., 0] - 1j * rows[..., 1]) @ np.exp(-2j * np.pi * row * axis))


def _take_out(power: Floats, lattice: Lattice) -> None:
    """Zero a lattice's peaks and their harmonics in a shifted power spectrum."""
    side = len(power)
    half = side // 2
    for m in range(-3, 4):
        for n in range(-3, 4):
            row = round(half + side * (m * lattice.first[0] + n * lattice.second[0]))
            col = round(half + side * (m * lattice.first[1] + n * lattice.second[1]))
            if (m or n) and 0 <= row < side and 0 <= col < side:
                power[max(0, row - 2) : row + 3, max(0, col - 2) : col + 3] = 0


# --- screens ------------------------------------------------------------------------------------


def _same(one: Lattice, other: Lattice) -> bool:
    """Whether two lattices are one screen's."""
    turn = abs(one.angle_deg - other.angle_deg)
    return (
        abs(one.period_px / other.period_px - 1) < SAME_PERIOD
        and min(turn, 90 - turn) < SAME_ANGLE_DEG
    )


def _grouped(found: list[tuple[Box, Lattice]]) -> list[list[tuple[Box, Lattice]]]:
    """Lattices of all tiles by screen, the most often met first."""
    groups: list[list[tuple[Box, Lattice]]] = []
    for box, lattice in found:
        for group in groups:
            if _same(group[0][1], lattice):
                group.append((box, lattice))
                break
        else:
            groups.append([(box, lattice)])
    return sorted(groups, key=lambda group: -len(group))


def _carrying_tiles(scan: Scan, boxes: list[Box], lattices: list[Lattice]) -> set[Box]:
    """The tiles in which one of the lattices swings."""
    carrying = set()
    for box in boxes:
        signals = _signals(scan, box)
        level = signals - signals.mean(axis=(1, 2), keepdims=True)
        axis = np.arange(signals.shape[1])
        scale = 2 / signals[0].size
        if any(
            min(np.abs(_response(level, *wave, axis)).max() for wave in (x.first, x.second)) * scale
            >= LEAST_SWING / 2
            for x in lattices
        ):
            carrying.add(box)
    return carrying


def _around(boxes: list[Box]) -> Box | None:
    """The box around boxes."""
    if not boxes:
        return None
    rows0, cols0, rows1, cols1 = zip(*boxes, strict=True)
    return min(rows0), min(cols0), max(rows1), max(cols1)


def _screen(scan: Scan, group: list[tuple[Box, Lattice]], where: Box | None) -> HalftoneScreen:
    """The record of one screen: medians over its tiles, the ink of the first."""
    first = group[0][1].angle_deg
    turns = [(x.angle_deg - first + 45) % 90 - 45 for _, x in group]
    return HalftoneScreen(
        ink_hex=_ink(scan, *group[0]),
        period_px=float(median([x.period_px for _, x in group])),
        angle_deg=_under_90(float(first + median(turns))),
        where=where,
    )


def _under_90(angle_deg: float) -> float:
    """An angle of a square lattice, 0 <= angle < 90; a hair under 0 leaves a remainder of 90."""
    return angle_deg % 90 % 90


def _ink(scan: Scan, box: Box, lattice: Lattice) -> str:
    """The colour at the dots' centres, as "#rrggbb"."""
    signals = _signals(scan, box)
    level = signals - signals.mean(axis=(1, 2), keepdims=True)
    axis = np.arange(signals.shape[1])
    wave = np.zeros(signals.shape[1:])
    for row, col in (lattice.first, lattice.second):
        responses = _response(level, row, col, axis)
        phase = np.angle(responses[np.argmax(np.abs(responses))])
        wave += np.cos(2 * np.pi * (row * axis[:, None] + col * axis[None, :]) + phase)
    part = np.s_[box[0] : box[2], box[1] : box[3]]
    centre = wave >= np.percentile(wave, 100 - DOT_SHARE)
    colours = scan.rgb[part][centre & (scan.coverage[part] > 127)]
    if not len(colours):
        colours = scan.rgb[part][centre]
    red, green, blue = median(colours, axis=0).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def screen_mask(screens: Screens, box: Box, size: tuple[int, ...]) -> NDArray[np.bool_]:
    """(h, w) bool over the art's box: tiles that carry a screen."""
    height, width = box[2] - box[0], box[3] - box[1]
    mask = np.zeros(size, np.uint8)
    for row0, col0, row1, col1 in screens.tiles:
        top, left = (row0 - box[0]) * size[0] // height, (col0 - box[1]) * size[1] // width
        bottom, right = (
            -(-(row1 - box[0]) * size[0] // height),
            -(-(col1 - box[1]) * size[1] // width),
        )
        cv2.rectangle(mask, (left, top), (right - 1, bottom - 1), 1, cv2.FILLED)
    return mask > 0
