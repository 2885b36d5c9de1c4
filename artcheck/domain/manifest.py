"""The manifest of a job folder: what was separated, how, and what lies in which file."""

from typing import Literal

from artcheck.domain.base import Box, Lab, Record
from artcheck.domain.check import ArtworkReport, GarmentReport, MoneyText
from artcheck.domain.findings import Verdict
from artcheck.domain.separation import Change, Loss

MANIFEST_SCHEMA_VERSION = "1.0"
"""A new key raises the second figure, a changed meaning or a lost key the first."""


class ManifestInk(Record):
    """One plate: its ink, its file, and how much of the print it covers."""

    order: int
    name: str
    hex: str
    lab: Lab
    role: Literal["ink", "underbase"]
    plate: str
    area_in2: float
    stock: bool = True


class Side(Record):
    """The art, or its simplified version, measured and judged for one method.

    ``to_settle`` holds the findings that keep the verdict from "suits", in their words.
    """

    inks: int | None
    verdict: Verdict
    total: MoneyText | None
    price_total: MoneyText | None
    price_per_piece: MoneyText | None
    to_settle: tuple[str, ...] = ()


class Comparison(Record):
    """The art beside its simplified version, both measured alike. ``currency`` as ISO 4217."""

    method: str
    currency: str
    before: Side
    after: Side


class Manifest(Record):
    """What a job folder holds.

    ``art_box_px`` says where the art lies inside every plate and inside separations.pdf at
    ``ppi``: marks and names lie outside it. Places of ``changes`` count from the art box's
    corner.
    """

    schema_version: str = MANIFEST_SCHEMA_VERSION
    artcheck_version: str
    artwork: ArtworkReport
    method: str
    garment: GarmentReport
    width_in: float
    height_in: float
    ppi: float
    trap_pt: float
    choke_pt: float
    inks: tuple[ManifestInk, ...]
    art_box_px: Box | None
    loss: Loss | None
    changes: tuple[Change, ...]
    warnings: tuple[str, ...]
    comparison: Comparison | None = None
    files: tuple[str, ...] = ()
