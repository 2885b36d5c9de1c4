"""Print conditions: what colour a CMYK print has.

A model is a lattice of colours, made from a packaged characterisation, from a user's measured
chart, or from a user's ICC profile. Arithmetic on CMYK is never used: it misses solids by 7 to 34
CIEDE2000.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from typing import TYPE_CHECKING, Final, Literal, get_args

import numpy as np
import numpy.typing as npt

from artcheck.colour import lattice
from artcheck.domain.base import Lab

# The readers of users' files are imported where they are used: the packaged default needs neither.
if TYPE_CHECKING:
    from artcheck.colour.chart import Chart
    from artcheck.colour.icc import Profile

FloatArray = npt.NDArray[np.floating]

Packaged = Literal["tr006", "fogra39"]
DEFAULT: Final[Packaged] = "tr006"

_STAND_IN: Final = "a stand-in for a film printer nobody has measured"
_ALL_INKS: Final = 4.0
"""All four inks solid, as a sum of tones."""

_CODES: Final = 65535
"""Stored lattices are 16-bit codes of values 0-1: a step is below 0.003 in L* everywhere."""


@dataclass(frozen=True, slots=True, eq=False)
class PrintModel:
    """The colours of one print condition.

    Attributes
    ----------
    name
        Short name, as reports show it.
    description
        What was measured, and what it stands in for.
    lattice
        (21, 21, 21, 21, 3) float32, read-only; see `artcheck.colour.lattice`.
    node_lab
        (14641, 3) float32, CIELAB of every second node, in C order of C, M, Y, K; for scans.
    paper
        CIELAB D50 of the bare substrate.
    largest_total_ink
        Total of the four tones, 0-4, up to which the condition was characterised.
    warnings
        What a user should know of this model, whole sentences.
    """

    name: str
    description: str
    lattice: FloatArray
    node_lab: FloatArray
    paper: Lab
    largest_total_ink: float = _ALL_INKS
    warnings: tuple[str, ...] = ()

    def lab(self, cmyk: npt.ArrayLike) -> FloatArray:
        """CIELAB D50 (..., 3), float32, of tone values (..., 4), 0-1."""
        tones = np.asarray(cmyk, np.float32)
        values = lattice.interpolate(self.lattice, tones.reshape(-1, 4))
        return lattice.decode(values).reshape(*tones.shape[:-1], 3)


def _model(
    name: str,
    description: str,
    values: FloatArray,
    largest_total_ink: float = _ALL_INKS,
    warnings: tuple[str, ...] = (),
) -> PrintModel:
    node_lab = lattice.decode(lattice.thin(values)).reshape(-1, 3)
    lightness, a, b = lattice.decode(values[0, 0, 0, 0].astype(float)).round(4).tolist()
    for array in (values, node_lab):
        array.flags.writeable = False
    return PrintModel(
        name, description, values, node_lab, (lightness, a, b), largest_total_ink, warnings
    )


def packaged_model(condition: Packaged = DEFAULT) -> PrintModel:
    """One of the packaged print conditions: ``tr006`` or ``fogra39``.

    ``tr006`` is stored as a lattice of 11 steps and takes 5 ms; ``fogra39`` is fitted from its
    patches, a third of a second, because its file may be passed on only as it is.
    """
    return _PACKAGED[condition]()


def packaged_conditions() -> tuple[str, ...]:
    """Names that `packaged_model` knows."""
    return get_args(Packaged)


@lru_cache
def _tr006() -> PrintModel:
    codes = np.load(BytesIO(_data("tr006.npy")))
    return _model(
        "GRACoL coated (CGATS TR 006-2007)",
        f"offset on coated paper (GRACoL, ANSI CGATS TR 006-2007): {_STAND_IN}",
        lattice.refine(codes.astype(np.float32) / _CODES),
    )


@lru_cache
def _fogra39() -> PrintModel:
    from artcheck.colour.chart import read_chart

    chart = read_chart(_data("FOGRA39L.ti3"), "FOGRA39L.ti3")
    return _model(
        "FOGRA39L coated",
        f"offset on coated paper (Fogra FOGRA39L, ISO 12647-2:2004/Amd 1): {_STAND_IN}",
        lattice.fit(chart.cmyk, chart.lab),
    )


_PACKAGED: Final = {"tr006": _tr006, "fogra39": _fogra39}


def _data(name: str) -> bytes:
    return files("artcheck.colour").joinpath("data", name).read_bytes()


def stored_nodes(chart: Chart) -> npt.NDArray[np.uint16]:
    """The 16-bit lattice (11, 11, 11, 11, 3) that the package stores for a chart.

    ``numpy.save("tr006.npy", stored_nodes(read_chart(data, "TR006.ti3")))`` made the packaged file.
    """
    nodes = lattice.thin(lattice.fit(chart.cmyk, chart.lab))
    return np.rint(np.clip(nodes, 0, 1) * _CODES).astype("<u2")


def model_from_chart(chart: Chart, file_name: str) -> PrintModel:
    """A print model from the user's own measurements.

    Raises
    ------
    ChartError
        The patches contradict each other.
    """
    from artcheck.colour.chart import check_agreement

    check_agreement(chart, file_name)
    total = chart.largest_total_ink
    more = (
        f"{file_name} holds no patch with more than {100 * total:.0f} % of ink: colours that need "
        "more are not considered."
    )
    warnings = (more,) if total < _ALL_INKS else ()
    description = f"your measured chart '{chart.name}' ({len(chart.cmyk)} patches)"
    return _model(chart.name, description, lattice.fit(chart.cmyk, chart.lab), total, warnings)


def model_from_profile(profile: Profile) -> PrintModel:
    """A print model from the user's ICC profile."""
    levels = np.linspace(0, 1, lattice.STEPS)
    values = lattice.encode(profile.lab_on_grid(levels)).astype(np.float32)
    description = f"your ICC profile '{profile.name}'"
    return _model(profile.name, description, values, warnings=profile.warnings)


def read_print_model(data: bytes, file_name: str) -> PrintModel:
    """The print condition in a user's file: an ICC profile, or else a CGATS chart.

    Raises
    ------
    ProfileError
        An ICC profile that does not say what colour CMYK has.
    ChartError
        A chart that is no CMYK chart, or incomplete, or contradicts itself.
    """
    from artcheck.colour.chart import read_chart
    from artcheck.colour.icc import looks_like_profile, read_profile

    if looks_like_profile(data) or file_name.lower().endswith((".icc", ".icm")):
        return model_from_profile(read_profile(data, file_name))
    return model_from_chart(read_chart(data, file_name), file_name)
