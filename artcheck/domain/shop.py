"""The shop's inks, garments, fabrics, methods, prices and limits, as its TOML file states them."""

from __future__ import annotations

import itertools
from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from artcheck.domain.base import Lab, Record, Share

Status = Literal["standard", "practice", "memory", "shop"]
"""standard: a named standard or regulation. practice: common practice, no standard. memory: stated
from memory, to be verified. shop: this shop's own figure."""

Money = Annotated[Decimal, Field(ge=0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0)]
Family = Literal["spot", "full_colour", "cut_film", "direct"]


class Limit(Record):
    """A threshold with its unit, status and reason. ``change`` is met before ``stop``.

    A measurement below both raises a stop, between the two a change (above them for limits that
    name a most: the rule knows which side is bad).
    """

    change: float
    stop: float | None = None
    unit: str
    status: Status
    spread: str = ""
    reason: str = ""

    @property
    def source(self) -> str:
        """Where the figure came from, as a finding prints it."""
        words = {
            "standard": "standard",
            "practice": "common practice",
            "memory": "from memory, verify",
            "shop": "this shop's figure",
        }[self.status]
        spread = f", others say {self.spread}" if self.spread else ""
        reason = f" ({self.reason})" if self.reason else ""
        return f"{words}{spread}{reason}"


class Limits(Record):
    """Every threshold that judging uses. Names say what is measured."""

    resolution_edges: Limit
    resolution_photo: Limit
    line_spot: Limit
    gap_spot: Limit
    line_full_colour: Limit
    gap_full_colour: Limit
    line_full_colour_untested: Limit
    line_cut_film: Limit
    letters: Limit
    letters_reversed: Limit
    speck: Limit
    fade_share: Limit
    photo_share: Limit
    soft_rim_width: Limit
    soft_share: Limit
    solid_film: Limit
    contrast: Limit
    garment_match: Limit
    colour_match: Limit
    colour_other: Limit
    dye_migration: Limit
    placement_width: Limit


class StockInk(Record):
    """An ink on the shelf."""

    name: Annotated[str, Field(min_length=1)]
    lab: Lab


class GarmentColour(Record):
    """A colour in which garments come."""

    name: Annotated[str, Field(min_length=1)]
    lab: Lab


class GarmentStock(Record):
    """A blank the shop buys: its kind, fabric and price."""

    kind: Annotated[str, Field(min_length=1)]
    fabric: str
    price: Money
    outerwear: bool = False


class Fabric(Record):
    """What heat does to a fabric. Temperatures in degrees Fahrenheit.

    ``refuse`` is set for fabrics that no heat press should meet; ``highest_press_f`` is the
    highest press temperature to plan with; ``dyes_migrate`` marks cloth whose dye moves into ink.
    """

    name: Annotated[str, Field(min_length=1)]
    also: tuple[str, ...] = ()
    highest_press_f: float | None = None
    damaged_from_f: float | None = None
    refuse: bool = False
    dyes_migrate: bool = False
    coated: bool = False
    status: Status
    reason: str


class Placement(Record):
    """Where a print goes: usual width and the range in which it looks right, in inches."""

    name: Annotated[str, Field(min_length=1)]
    usual_width_in: Positive
    narrowest_in: Positive
    widest_in: Positive
    below_collar_in: tuple[float, float] | None = None


class Press(Record):
    """The maker's press settings, as a starting point."""

    temperature_f: Annotated[float, Field(gt=0, lt=600)]
    seconds: Annotated[float, Field(gt=0)]
    pressure: str
    peel: str


class _InkPriced(Record):
    """A price that rises with each ink and falls at each break.

    ``by_inks`` holds a row for 1, 2, 3 ... inks, a price per break; a print in mixed inks pays
    ``mix_per_ink`` for each; a white underbase counts as an ink where the printer says so.
    """

    breaks: tuple[Annotated[int, Field(ge=1)], ...]
    by_inks: dict[int, tuple[Money, ...]]
    setup_per_ink: Money = Decimal(0)
    mix_per_ink: Money = Decimal(0)
    underbase_is_an_ink: bool = False

    @field_validator("by_inks", mode="before")
    @classmethod
    def _ink_counts(cls, value: object) -> object:
        """TOML keys are text: ``[methods.price.by_inks] 1 = [...]``."""
        if not isinstance(value, dict):
            return value
        return {int(k) if str(k).isdigit() else k: v for k, v in value.items()}

    @field_validator("breaks")
    @classmethod
    def _breaks_rise(cls, breaks: tuple[int, ...]) -> tuple[int, ...]:
        _raise_all(_break_faults(breaks))
        return breaks

    @field_validator("by_inks")
    @classmethod
    def _rows_whole(
        cls, rows: dict[int, tuple[Decimal, ...]], info: ValidationInfo
    ) -> dict[int, tuple[Decimal, ...]]:
        wanted = list(range(1, len(rows) + 1))
        faults = (
            []
            if sorted(rows) == wanted != []
            else [f"must price 1, 2, 3 ... inks, not {sorted(rows)}"]
        )
        breaks = info.data.get("breaks")
        for inks, row in rows.items():
            faults += _row_faults(inks, row, breaks)
        _raise_all(faults)
        return rows

    @property
    def most_inks(self) -> int:
        """The largest number of inks that the list prices."""
        return max(self.by_inks)


class PerSheet(_InkPriced):
    """Bought by the printed sheet: breaks count sheets."""

    kind: Literal["per_sheet"]
    sheet_in: tuple[Positive, Positive]
    gutter_in: Annotated[float, Field(ge=0)] = 0.0
    margin_in: Annotated[float, Field(ge=0)] = 0.0
    rotate: bool = True
    fewest_sheets: Annotated[int, Field(ge=1)] = 1

    @model_validator(mode="after")
    def _priced_from_the_fewest(self) -> Self:
        if self.breaks[0] > self.fewest_sheets:
            raise ValueError(
                f"breaks start at {self.breaks[0]} but {self.fewest_sheets} sheets may be bought:"
                " give a price for them"
            )
        return self


class PerArea(Record):
    """Bought by the square inch of the printed box; ``per_piece`` is added (weeding, handling)."""

    kind: Literal["per_area"]
    per_in2: Money
    per_piece: Money = Decimal(0)
    least_per_piece: Money = Decimal(0)
    least_per_design: Money = Decimal(0)
    widest_in: Positive | None = None


class PerRoll(Record):
    """Bought by the begun foot of a roll; pieces stand in rows across it."""

    kind: Literal["per_roll"]
    width_in: Positive
    gutter_in: Annotated[float, Field(ge=0)] = 0.0
    per_foot: Money
    rotate: bool = True
    fewest_feet: Annotated[int, Field(ge=1)] = 1


class PerPiece(_InkPriced):
    """Printed on the garment: set-up per screen, then a price a piece; breaks count pieces."""

    kind: Literal["per_piece"]
    widest_in: Positive | None = None
    tallest_in: Positive | None = None
    fewest_pieces: Annotated[int, Field(ge=1)] = 1


PriceList = Annotated[PerSheet | PerArea | PerRoll | PerPiece, Field(discriminator="kind")]


def _break_faults(breaks: tuple[int, ...]) -> list[str]:
    if not breaks:
        return ["breaks is empty: give the quantity from which each price holds"]
    if any(b >= c for b, c in itertools.pairwise(breaks)):
        return [f"breaks must rise, not {list(breaks)}"]
    return []


def _row_faults(inks: int, row: tuple[Decimal, ...], breaks: tuple[int, ...] | None) -> list[str]:
    faults = []
    if breaks is not None and len(row) != len(breaks):
        faults.append(f"the row of {inks} inks has {len(row)} prices for {len(breaks)} breaks")
    if any(a < b for a, b in itertools.pairwise(row)):
        faults.append(f"the row of {inks} inks rises at a higher break: {[str(p) for p in row]}")
    return faults


def _raise_all(faults: list[str]) -> None:
    if faults:
        raise ValueError("; ".join(faults))


class Method(Record):
    """A way to print, with what it can do, what it costs and how it is pressed.

    ``recommend = false`` prices the method beside the others without proposing it (a roll that
    the shop buys only for gangs, say). ``each_different`` says that every piece may carry its own
    design at no extra charge. ``most_colours`` caps the colours whatever the price list says.
    ``supplier`` is who sends the goods and charges freight; None for what the shop makes itself.
    """

    id: Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
    name: Annotated[str, Field(min_length=1)]
    family: Family
    supplier: str | None = None
    price: PriceList
    press: Press | None = None
    recommend: bool = True
    opaque: bool = True
    exact_inks: bool
    fades: Literal["no", "halftone", "yes"]
    photos: bool
    each_different: bool
    part_transparent: bool
    most_colours: Annotated[int, Field(ge=1)] | None = None
    output_ppi: Positive = 300.0
    halftone_lpi: Positive | None = None
    halftone_angle_deg: float | None = None
    trap_pt: Annotated[float, Field(ge=0)] = 0.0
    choke_pt: Annotated[float, Field(ge=0)] = 0.0

    @property
    def mixes_inks(self) -> bool:
        """Whether inks can be mixed to order: printers' can, film cut from the shelf cannot."""
        return isinstance(self.price, PerSheet | PerPiece)

    @property
    def most_inks(self) -> int | None:
        """The most inks that the method or its price list allows; None where all are free."""
        if isinstance(self.price, PerSheet | PerPiece):
            return min(self.price.most_inks, self.most_colours or self.price.most_inks)
        return self.most_colours


class Spares(Record):
    """Pieces made beyond the order: ``share`` of it rounded up, at least ``least``."""

    share: Share
    least: Annotated[int, Field(ge=0)]


class PriceRules(Record):
    """How costs become prices.

    ``rounding`` is "each piece" (round a piece's price to the smallest unit, then multiply) or
    "each line" (multiply exactly, then round once). ``margin`` is the part of the price that is
    not cost; ``mark_up`` the part added to the cost; exactly one of the two is given.
    ``change_minutes`` says how long a change usually takes at this shop, by finding id.
    """

    rounding: Literal["each piece", "each line"] = "each line"
    margin: Annotated[Decimal, Field(ge=0, lt=1)] | None = None
    mark_up: Annotated[Decimal, Field(ge=0)] | None = None
    freight_per_supplier_order: Money
    labour_per_press: Money
    art_per_hour: Money
    art_step_minutes: Annotated[int, Field(ge=1)] = 15
    change_minutes: dict[str, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    spares: Spares
    quote_valid_days: Annotated[int, Field(ge=1)] = 30
    deposit: Share = 0.0
    rush_share: Annotated[Decimal, Field(ge=0)] = Decimal(0)
    tax_line: str = "Tax is not included."
    terms: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.margin is None) == (self.mark_up is None):
            raise ValueError("give either margin or mark_up, not both and not neither")
        return self


class SmallPrint(Record):
    """A small print that may ride along where a sheet has room: a neck tag, a sleeve mark.

    ``inks`` names the inks it needs; none: it is printed in whatever the sheet carries. ``art`` is
    a path; without it the place is kept free and marked. ``most_per_sheet`` caps the copies.
    """

    name: Annotated[str, Field(min_length=1)]
    width_in: Positive
    height_in: Positive
    inks: tuple[str, ...] = ()
    art: str | None = None
    most_per_sheet: Annotated[int, Field(ge=1)] = 1000


class PrintConditionChoice(Record):
    """Which description of CMYK print stands for the shop's film printer.

    ``packaged`` names a packaged table; ``profile`` or ``chart`` is a path to the shop's own.
    """

    packaged: Literal["tr006", "fogra39"] = "tr006"
    profile: str | None = None
    chart: str | None = None
    total_ink_limit: Annotated[float, Field(gt=0, le=4)] | None = None


class Equipment(Record):
    """The press itself."""

    press_watts: Positive | None = None
    platen_in: tuple[Positive, Positive] | None = None
    circuit_amps: Positive | None = None
    volts: Positive = 120.0


class Shop(Record):
    """Everything a shop file says."""

    name: Annotated[str, Field(min_length=1)]
    demo: bool = False
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    prices: PriceRules
    limits: Limits
    equipment: Equipment = Equipment()
    print_condition: PrintConditionChoice = PrintConditionChoice()
    inks: tuple[StockInk, ...]
    garment_colours: tuple[GarmentColour, ...]
    garments: tuple[GarmentStock, ...] = ()
    fabrics: tuple[Fabric, ...]
    placements: tuple[Placement, ...] = ()
    small_prints: tuple[SmallPrint, ...] = ()
    methods: Annotated[tuple[Method, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _names_once(self) -> Self:
        faults: list[str] = []
        for what, names in (
            ("methods", [m.id for m in self.methods]),
            ("inks", [i.name.lower() for i in self.inks]),
            ("garment_colours", [g.name.lower() for g in self.garment_colours]),
            ("small_prints", [p.name.lower() for p in self.small_prints]),
            ("fabrics", [n.lower() for f in self.fabrics for n in (f.name, *f.also)]),
        ):
            twice = sorted({n for n in names if names.count(n) > 1})
            if twice:
                faults.append(f"{what} names {', '.join(twice)} more than once")
        _raise_all(faults)
        return self

    def method(self, method_id: str) -> Method:
        """The method with this id; KeyError where there is none."""
        for method in self.methods:
            if method.id == method_id:
                return method
        raise KeyError(method_id)

    def fabric(self, name: str) -> Fabric | None:
        """The fabric of this name or alias, whatever the case; None where it is unknown."""
        wanted = name.strip().lower()
        for fabric in self.fabrics:
            if wanted in (fabric.name.lower(), *(a.lower() for a in fabric.also)):
                return fabric
        return None
