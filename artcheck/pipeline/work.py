"""What every step of a separation needs."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.domain.artwork import Cutout
from artcheck.domain.check import Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Method
from artcheck.pipeline.setting import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One print on its way to plates or film."""

    measured: Measurements
    cutout: Cutout
    setting: Setting
    report: Report
    method: Method
    options: SeparationOptions
