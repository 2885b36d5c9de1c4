"""What every record of numbers and words has in common."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Box = tuple[int, int, int, int]
"""A place in the art: row0, col0, row1, col1 in pixels, half-open."""

Lab = tuple[float, float, float]
"""CIELAB, illuminant D50, 2 degree observer: L* 0-100, a*, b*."""

Share = Annotated[float, Field(ge=0, le=1)]
"""A part of a whole, 0-1."""


class Record(BaseModel):
    """Frozen, no unknown keys, infinite and NaN numbers refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
