"""What every step of a separation needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Cutout
from artcheck.domain.check import Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Method
from artcheck.pipeline.setting import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One print on its way to plates or film.

    ``fades`` is where the art fades: (h, w) bool over its box, at any size.
    """

    measured: Measurements
    cutout: Cutout
    setting: Setting
    report: Report
    method: Method
    options: SeparationOptions
    fades: NDArray[np.bool_]
