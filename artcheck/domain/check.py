"""The report: the records behind the JSON file. Its keys are a promise; see docs/report.md.

Lengths in inches and points, money as decimal strings, colours as CIELAB D50/2 degrees, shares
0-1. None means that the art has none or that it could not be measured; a finding then says why.
"""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, PlainSerializer

from artcheck.domain.artwork import ArtKind, Background
from artcheck.domain.base import Box, Lab, Record, Share
from artcheck.domain.findings import Finding, Verdict
from artcheck.domain.measurements import ToneClass
from artcheck.domain.shop import Family

SCHEMA_VERSION = "1.3"
"""A new key raises the second figure, a changed meaning or a lost key the first."""

MoneyText = Annotated[Decimal, PlainSerializer(lambda d: format(d, "f"), return_type=str)]
"""An amount, written as a decimal string so that no reader makes a binary fraction of it."""

ColourWords = Literal["match", "close", "another colour"]
ContrastWords = Literal["clear", "weak", "unreadable", "matches garment", "inside other inks"]


class ArtworkReport(Record):
    """The file itself."""

    file: str
    kind: ArtKind
    pixels: tuple[int, int]
    has_alpha: bool
    profile: str | None
    declared_inks: tuple[str, ...]


class GarmentReport(Record):
    """What is printed on, as far as the order says it; ``hex`` is for showing it on a screen."""

    kind: str | None = None
    colour: str | None = None
    hex: str | None = None
    fabric: str | None = None
    pieces: int | None = None
    placement: str | None = None


class PrintedReport(Record):
    """The trimmed box at its printed size."""

    width_in: float
    height_in: float
    box_area_in2: float
    ink_area_in2: float
    coverage: Share


class StockMatch(Record):
    """The nearest ink on the shelf."""

    name: str
    delta_e_2000: float
    lab: Lab | None = None


ENCLOSED = 0.05
"""Share of an ink's outline facing open ground up to which it lies inside other inks: letters in a
box that touch its rim here and there still read against the box. Common practice, no source."""


class InkReport(Record):
    """One ink of the art. ``plan`` says how a spot method would print it.

    ``open_outline`` is the share of its outline that faces the garment and not another ink.
    ``digital_lab`` is the nearest colour of full-colour print (of like hue where that is another),
    ``digital_delta_e_2000`` how far that is.
    """

    name: str
    hex: str
    lab: Lab
    share: Share
    area_in2: float
    is_garment: bool
    stock: StockMatch | None
    plan: Literal["stock", "mixed", "knocked out"] = "stock"
    digital_lab: Lab | None = None
    digital_delta_e_2000: float | None = None
    open_outline: Share = 1.0

    @property
    def is_inside(self) -> bool:
        """Whether it lies inside other inks: it is seen against those, not against the garment."""
        return self.open_outline <= ENCLOSED


class CountReading(Record):
    """Another honest count of the inks, and what decides."""

    count: int
    why: str


class InksReport(Record):
    """How many inks, and which."""

    count: int | None
    count_without_white: int | None
    also_plausible: tuple[int, ...]
    readings: tuple[CountReading, ...] = ()
    list: tuple[InkReport, ...]


class HalftoneReport(Record):
    """A screen that the art already carries."""

    ink: str
    lpi: float
    angle_deg: float


class ToneReport(Record):
    """Flat, gradient or photo."""

    kind: ToneClass = Field(serialization_alias="class", validation_alias="class")
    gradient_share: Share
    photo_share: Share
    halftone: tuple[HalftoneReport, ...] | None


class GroupReport(Record):
    """One of several separate designs on the page."""

    where: Box
    inks: int | None
    true_dpi: float | None
    effective_dpi: float | None
    thinnest_line_pt: float | None
    narrowest_gap_pt: float | None


class DetailReport(Record):
    """Fine detail at the printed size."""

    thinnest_line_pt: float | None
    narrowest_gap_pt: float | None
    specks: int
    smallest_letters_pt: float | None = None
    smallest_reversed_letters_pt: float | None = None


class ResolutionReport(Record):
    """Pixels per printed inch: the file's, the real ones, and how large the art may go."""

    effective_dpi: float
    true_dpi: float
    largest_width_in: float


class EdgesReport(Record):
    """The partly transparent rim."""

    soft_share: Share
    soft_width_pt: float


class ContrastReport(Record):
    """One ink against the garment, by lightness; ``delta_e_2000`` is their colour difference.

    An ink inside other inks that read on this garment is seen against those.
    """

    ink: str
    garment: str
    delta_l: float
    contrast_ratio: float
    delta_e_2000: float
    verdict: ContrastWords


class BrandColourReport(Record):
    """A colour the customer named, and how near each way of printing comes."""

    name: str
    target_lab: Lab
    reachable_lab: Lab
    delta_e_2000: float
    like_hue_lab: Lab | None
    like_hue_delta_e_2000: float | None
    verdict: ColourWords
    print_condition: str
    nearest_ink: StockMatch | None
    found_in_art: bool
    art_delta_e_2000: float | None
    critical: bool
    plan: Literal["stock", "mixed"] = "stock"
    text: str = ""


class CostLine(Record):
    """One line of a cost: quantity times unit amount is the amount (a minimum says so).

    ``how`` says where the unit amount comes from.
    """

    what: str
    quantity: MoneyText
    unit_amount: MoneyText
    amount: MoneyText
    how: str = ""


class CostReport(Record):
    """What the order costs with this method, and its price.

    ``decoration`` is the transfers alone (sheets, set-up, mixing); ``total`` is the sum of the
    lines: decoration, freight, press labour, blanks and art time, as far as they are known.
    ``needed`` and ``bought`` count what the price list counts (``unit``: sheets, feet, prints,
    pieces); ``spare_copies`` come with what is bought beyond the need, and that saves ``saving``.
    """

    currency: str
    pieces: int
    prints: int
    copies_per_sheet: int | None
    sheets_needed: int | None
    sheets_bought: int | None
    decoration: MoneyText
    total: MoneyText
    per_piece: MoneyText
    price_total: MoneyText
    price_per_piece: MoneyText
    unit: str | None = None
    needed: int | None = None
    bought: int | None = None
    spare_copies: int = 0
    saving: MoneyText = Decimal(0)
    lines: tuple[CostLine, ...]
    notes: tuple[str, ...] = ()


class PressReport(Record):
    """How to press it, as a starting point, with its cautions."""

    temperature_f: float
    seconds: float
    pressure: str
    peel: str
    cautions: tuple[str, ...]


class MethodReport(Record):
    """One method on this order."""

    id: str
    name: str
    family: Family
    verdict: Verdict
    recommendable: bool = True
    inks: int | None = None
    findings: tuple[Finding, ...]
    cost: CostReport | None
    press: PressReport | None


class Alternative(Record):
    """A method that was not chosen, and why."""

    method: str
    why_not: str


class Flip(Record):
    """Quantities over which one method is the cheapest; "tie" where two cost the same."""

    from_quantity: int
    to_quantity: int
    method: str


TIE = "tie"
"""Stands for the method where two or more cost the same."""


class Crossover(Record):
    """Who is cheapest where, over quantities from 1.

    ``close_call`` spans from the first change of the cheapest method to the last (None where
    there is one change or none). ``stable_from_quantity`` is the quantity from which the last
    method stays the cheapest; None when the last stretch is a tie.
    """

    flips: tuple[Flip, ...]
    close_call: tuple[int, int] | None
    stable_from_quantity: int | None


class Nudge(Record):
    """A small change of the order and what it saves in cost.

    "smaller": a print of ``width_in``. "stock-inks": none mixed to order. "larger-run": ``pieces``
    that cost less than fewer. "fits": the widest print of art that is too large for every method.
    """

    id: Literal["smaller", "stock-inks", "larger-run", "fits"]
    text: str
    method: str
    width_in: float | None = None
    pieces: int | None = None
    saving: MoneyText


class Recommendation(Record):
    """Which method, why, and what would change it. ``method`` is None when none suits."""

    method: str | None
    headline: str
    reasons: tuple[str, ...]
    alternatives: tuple[Alternative, ...]
    flips: tuple[Flip, ...]
    close_call: tuple[int, int] | None
    stable_from_quantity: int | None
    would_change_it: tuple[str, ...]
    nudges: tuple[Nudge, ...] = ()


class LadderInk(Record):
    """One ink of a rung; ``stock`` is False for an ink mixed to order."""

    name: str
    hex: str
    stock: bool


class LadderRung(Record):
    """The art in so many inks: what it loses, and what this order costs with them.

    Losses are CIEDE2000 between the art's colours and the inks that stand for them, by area.
    ``total`` and ``per_piece`` are the method's cost as in `CostReport`, ``price_total`` its price;
    None where the quantity is not known or the price list has no figure. ``recommended`` marks one
    rung for each method, and ``reason`` says why. Where mixed inks are in a rung, another with the
    same number follows, from the shelf alone.
    """

    inks: int
    mean_delta_e_2000: float
    p95_delta_e_2000: float
    worst_region_delta_e_2000: float
    method: str
    total: MoneyText | None
    per_piece: MoneyText | None
    price_total: MoneyText | None = None
    palette: tuple[LadderInk, ...] = ()
    recommended: bool = False
    reason: str = ""


class SizeSpares(Record):
    """Pieces ordered of one garment size, and the spare garments of it.

    ``garment`` tells garments of one order apart; empty where there is one.
    """

    garment: str = ""
    size: str
    quantity: int
    spares: int


class SharedPlace(Record):
    """One copy on a shared layout, from its upper left corner; ``print`` counts from 0."""

    print: int
    row_in: float
    col_in: float
    width_in: float
    height_in: float


class SharedLayout(Record):
    """A sheet printed ``times``, or one length of roll, and what lies on it."""

    sheet_in: tuple[float, float]
    times: int
    places: tuple[SharedPlace, ...]


class BoughtTogether(Record):
    """Prints of an order that are bought as one; ``prints`` counts them from 0.

    ``how``: copies of one design (for several garments), designs on shared sheets or on one length
    of roll. ``cost_apart`` would buy each for itself.
    """

    prints: tuple[int, ...]
    names: tuple[str, ...]
    method: str
    how: Literal["one design", "shared sheets", "one roll"]
    cost: MoneyText
    cost_apart: MoneyText
    lines: tuple[CostLine, ...]
    layouts: tuple[SharedLayout, ...] = ()


class QuoteReport(Record):
    """The whole order: every print by its method, shared lines once.

    ``decoration`` is the transfers alone; ``together`` says which of them are bought as one.
    ``spares`` says of which sizes the spare garments are; empty where the sizes are not told.
    """

    currency: str
    pieces: int
    decoration: MoneyText
    cost: MoneyText
    price: MoneyText
    price_per_piece: MoneyText
    lines: tuple[CostLine, ...]
    spares: tuple[SizeSpares, ...] = ()
    together: tuple[BoughtTogether, ...] = ()
    notes: tuple[str, ...] = ()


class Report(Record):
    """Everything artcheck says of one print of an order."""

    schema_version: str = SCHEMA_VERSION
    artcheck_version: str
    shop: str
    demo_prices: bool
    artwork: ArtworkReport
    garment: GarmentReport = GarmentReport()
    background: Background
    printed: PrintedReport
    inks: InksReport
    tone: ToneReport
    groups: tuple[GroupReport, ...]
    detail: DetailReport
    resolution: ResolutionReport | None
    edges: EdgesReport
    contrast: tuple[ContrastReport, ...]
    brand_colours: tuple[BrandColourReport, ...]
    methods: tuple[MethodReport, ...]
    recommendation: Recommendation
    ink_ladder: tuple[LadderRung, ...]
    questions: tuple[str, ...]
    messages: tuple[str, ...]


class OrderReport(Record):
    """An order of several prints: one report each, and the quote over all.

    ``names`` are what the prints are called: the file, and what tells it from others of its name.
    """

    schema_version: str = SCHEMA_VERSION
    artcheck_version: str
    order: str
    names: tuple[str, ...]
    prints: tuple[Report, ...]
    quote: QuoteReport | None
