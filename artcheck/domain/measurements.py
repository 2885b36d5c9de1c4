"""What the pixels say, in pixels and shares: no print size yet. `Measurements.at` gives it one."""

from typing import Annotated, Literal

from pydantic import Field

from artcheck.domain.artwork import ArtKind, Background, DeclaredInk, ReadingNote, VectorFacts
from artcheck.domain.base import Box, Lab, Record, Share
from artcheck.units import points

ToneClass = Literal["flat", "gradient", "photo"]
Pixels = Annotated[float, Field(ge=0)]


class AreaMeasured(Record):
    """How much is printed.

    ``box`` is what is printed, trimmed of transparent or removed background; ``ink_px`` sums
    coverage (a half-transparent pixel counts a half); ``largest_solid_px`` is the largest
    connected inked area, for the stiffness of film, and ``largest_solid_box`` its place.
    """

    box: Box
    ink_px: Pixels
    coverage: Share
    largest_solid_px: Pixels = 0.0
    largest_solid_box: Box | None = None


class InkMeasured(Record):
    """One distinct solid colour of the art (or an end colour of a fade).

    ``open_outline`` is the share of its outline that faces open ground and not another ink.
    """

    hex: str
    lab: Lab
    share: Share
    where: Box | None = None
    is_fade_end: bool = False
    open_outline: Share = 1.0


class PlausibleCount(Record):
    """Another honest reading of the number of inks, and what decides between the two."""

    count: int
    why: str


class InksMeasured(Record):
    """The inks, most area first. Counts are None for a photograph: it has no ink count.

    ``count_without_white`` leaves out white and paper-coloured inks (L* near the paper's).
    """

    count: int | None
    count_without_white: int | None
    also_plausible: tuple[PlausibleCount, ...] = ()
    inks: tuple[InkMeasured, ...] = ()


class HalftoneScreen(Record):
    """A regular dot screen that the art already carries. Angle in degrees, 0 <= angle < 90."""

    ink_hex: str
    period_px: Pixels
    angle_deg: float
    where: Box | None = None


class ToneMeasured(Record):
    """Flat, gradient or photo. Shares are of the ink area."""

    kind: ToneClass
    gradient_share: Share
    photo_share: Share
    fade_places: tuple[Box, ...] = ()
    halftone: tuple[HalftoneScreen, ...] | None = None


class ThinPlace(Record):
    """A line or a gap: its width and where."""

    width_px: Pixels
    where: Box


class SmallPart(Record):
    """A separate piece of ink, or a hole in one: ``size_px`` is the side of a square as large."""

    size_px: Pixels
    where: Box


class LetterRow(Record):
    """A row of letter-like shapes. ``height_px`` is the capitals' (tallest common) height."""

    height_px: Pixels
    where: Box
    reversed: bool = False


class DetailMeasured(Record):
    """Fine detail. Lists hold the thinnest first, at most `MAX_PLACES` each.

    ``lines`` and ``gaps`` are those of every ink; ``open_lines`` and ``open_gaps`` those between
    ink and open ground, whatever the ink: a film of all colours has no others.
    ``shapes`` counts the pieces of ink and the holes in them: what a cutter's film is weeded by.
    """

    thinnest_line_px: Pixels | None = None
    narrowest_gap_px: Pixels | None = None
    lines: tuple[ThinPlace, ...] = ()
    gaps: tuple[ThinPlace, ...] = ()
    open_lines: tuple[ThinPlace, ...] = ()
    open_gaps: tuple[ThinPlace, ...] = ()
    small_parts: tuple[SmallPart, ...] = ()
    small_holes: tuple[SmallPart, ...] = ()
    letters: tuple[LetterRow, ...] = ()
    shapes: Annotated[int, Field(ge=0)] | None = None


class SharpnessMeasured(Record):
    """How much of the file's resolution is real.

    ``true_scale`` is true pixels per file pixel along one side (0-1; a picture enlarged threefold
    has 1/3); ``method`` says what told ("interpolation traces", "edge width", "pixel steps").
    """

    true_scale: Annotated[float, Field(gt=0, le=1)]
    method: str


class EdgesMeasured(Record):
    """The partly transparent rim: share of the outline that is soft, and its width.

    ``partial_share`` is the share of inked pixels that are partly transparent, rims and glows
    together; ``matte_hex`` names a background colour that has bled into the rim.
    """

    soft_share: Share
    soft_width_px: Pixels
    partial_share: Share = 0.0
    places: tuple[Box, ...] = ()
    matte_hex: str | None = None


class GroupMeasured(Record):
    """One of several separate designs on the page (a sponsor among twelve)."""

    where: Box
    inks: int | None
    true_scale: float | None
    thinnest_line_px: Pixels | None
    narrowest_gap_px: Pixels | None
    smallest_letters_px: Pixels | None = None
    has_opaque_box: bool = False
    ink_hexes: tuple[str, ...] = ()


MAX_PLACES = 40
"""Places kept per list: enough to mark on a proof, few enough to read."""


class Measurements(Record):
    """Everything measured of one art file. Depends on the file alone."""

    file: str
    digest: str
    kind: ArtKind
    pixels: tuple[int, int]
    has_alpha: bool
    profile: str | None
    resolution_ppi: float | None
    declared_inks: tuple[DeclaredInk, ...]
    vector: VectorFacts | None
    background: Background
    notes: tuple[ReadingNote, ...]
    area: AreaMeasured
    inks: InksMeasured
    tone: ToneMeasured
    detail: DetailMeasured
    sharpness: SharpnessMeasured | None
    edges: EdgesMeasured
    groups: tuple[GroupMeasured, ...] = ()

    @property
    def box_size_px(self) -> tuple[int, int]:
        """(width, height) of the printed box in pixels."""
        row0, col0, row1, col1 = self.area.box
        return col1 - col0, row1 - row0

    @property
    def has_pixels(self) -> bool:
        """False for pure geometry, which has no resolution of its own."""
        return self.kind == "raster" or bool(self.vector and self.vector.wraps_bitmap)

    def at(self, width_in: float) -> "Sized":
        """Give the art a printed width (inches of the trimmed box)."""
        return Sized(measured=self, width_in=width_in)


class Sized(Record):
    """Measurements at a print size: every pixel length becomes inches and points."""

    measured: Measurements
    width_in: Annotated[float, Field(gt=0)]

    @property
    def ppi(self) -> float:
        """File pixels per printed inch."""
        return self.measured.box_size_px[0] / self.width_in

    @property
    def height_in(self) -> float:
        """Printed height; the box keeps its proportion."""
        width_px, height_px = self.measured.box_size_px
        return self.width_in * height_px / width_px

    @property
    def box_area_in2(self) -> float:
        """Area of the printed box."""
        return self.width_in * self.height_in

    @property
    def ink_area_in2(self) -> float:
        """Area that ink covers."""
        return self.measured.area.ink_px / self.ppi**2

    @property
    def true_dpi(self) -> float | None:
        """Resolution that the detail really has; None for pure geometry."""
        if not self.measured.has_pixels or self.measured.sharpness is None:
            return None
        return self.ppi * self.measured.sharpness.true_scale

    @property
    def effective_dpi(self) -> float | None:
        """File pixels per printed inch; None for pure geometry."""
        return self.ppi if self.measured.has_pixels else None

    def pt(self, length_px: float) -> float:
        """Points of a pixel length at this size."""
        return points(length_px, self.ppi)

    def optional_pt(self, length_px: float | None) -> float | None:
        """`pt`, passing on what was not measured."""
        return None if length_px is None else self.pt(length_px)

    def in2(self, area_px: float) -> float:
        """Square inches of a pixel area at this size."""
        return area_px / self.ppi**2
