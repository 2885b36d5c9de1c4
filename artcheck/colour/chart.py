"""Measured charts: CGATS text of CMYK patches with their colours."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from artcheck.colour.lattice import held_out_delta_e_2000
from artcheck.colour.spaces import xyz_to_lab
from artcheck.errors import ChartError

FloatArray = npt.NDArray[np.floating]

MIN_PATCHES: Final = 81
"""Fewest different patches: three tones of each of four inks, 3^4. Even as random CMYK, so many
foretell the packaged charts' other patches to about 0.3 CIEDE2000 in the median."""

MAX_PATCHES: Final = 4000
"""Most different patches: the fit takes the cube of their number, some 4 s for so many."""

MAX_CONTRADICTION: Final = 4.0
"""Largest CIEDE2000 within which the other patches must foretell nine in ten. On the packaged
charts it is 0.04 and 0.14, with 81 patches at random up to 1.5, with noise of 1 in each of L*, a*,
b* 3.1; one row of the 1,617 skipped near the end makes it 5.5, near the start 12."""

_FORETOLD: Final = 90
"""Per cent of the patches that must be foretold: a slipped row leaves many nearly right."""

_SOLID: Final = 0.95
"""Tone from which an ink counts as shown in full."""

_TONES: Final = ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
_LAB: Final = ("LAB_L", "LAB_A", "LAB_B")
_XYZ: Final = ("XYZ_X", "XYZ_Y", "XYZ_Z")
_LARGEST_SHARE: Final = 1.5
"""XYZ are on the scale where white has Y = 1 if no patch is above this, else on that of 100."""

_TOKEN: Final = re.compile(r'"[^"]*"|\S+')


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """Patches that were printed and measured, each CMYK once.

    Attributes
    ----------
    name
        What the chart calls itself, else its file's name.
    cmyk
        (N, 4) tone values 0-1, read-only.
    lab
        (N, 3) CIELAB D50, 2 degrees, read-only; patches printed several times are averaged.
    """

    name: str
    cmyk: FloatArray
    lab: FloatArray

    @property
    def paper(self) -> FloatArray:
        """CIELAB (3,) of the bare substrate."""
        return np.asarray(self.lab[np.argmin(self.cmyk.sum(axis=1))])

    @property
    def largest_total_ink(self) -> float:
        """The most ink on any patch, 0-4."""
        return float(self.cmyk.sum(axis=1).max())


def read_chart(data: bytes, file_name: str) -> Chart:
    """Read a chart of CMYK with Lab or XYZ (D50, 2 degrees) in CGATS text form.

    Patches may be a standard set or any other, in any order; Lab is preferred where both stand.

    References
    ----------
    CGATS.17-2009 (ISO 28178:2009), exchange format for colour and process control data.

    Raises
    ------
    ChartError
        No such chart, a truncated one, too few or too many patches, no bare paper, an ink not
        shown in full, or another illuminant or observer than D50 and 2 degrees.
    """
    text = data.decode("utf-8", errors="replace").replace("\r", "\n")
    header, fields, rows = _split(text, file_name)
    _check_conditions(header, file_name)
    table = _numbers(fields, rows, file_name)
    cmyk, lab = _averaged(_tones(fields, table, file_name), _colours(fields, table, file_name))
    _check_patches(cmyk, file_name)
    name = re.search(r'^[ \t]*(?:FILE_)?DESCRIPTOR[ \t]+"([^"\n]+)"', header, re.MULTILINE)
    return Chart(name[1] if name else file_name, _read_only(cmyk), _read_only(lab))


def _split(text: str, file_name: str) -> tuple[str, list[str], list[list[str]]]:
    """The header, the names of the fields, and the rows of the first table."""
    names = re.search(r"^[ \t]*BEGIN_DATA_FORMAT\b(.*?)\bEND_DATA_FORMAT\b", text, re.S | re.M)
    begin = re.search(r"^[ \t]*BEGIN_DATA[ \t]*$", text, re.MULTILINE)
    if names is None or begin is None:
        raise ChartError(
            f"{file_name} is no measured chart in CGATS text form (no BEGIN_DATA_FORMAT and "
            "BEGIN_DATA). Export the measurements as CGATS text."
        )
    end = re.compile(r"^[ \t]*END_DATA[ \t]*$", re.MULTILINE).search(text, begin.end())
    if end is None:
        raise ChartError(f"{file_name} breaks off before END_DATA. Export or copy it again.")
    lines = text[begin.end() : end.start()].splitlines()
    rows = [_TOKEN.findall(line) for line in lines if line.strip() and line.lstrip()[0] != "#"]
    return text[: begin.start()], names[1].upper().split(), rows


def _check_conditions(header: str, file_name: str) -> None:
    """Refuse measurements under another illuminant or for another observer, where it is told."""
    told = "\n".join(line for line in header.splitlines() if not line.lstrip().startswith("#"))
    light = re.search(r'ILLUMINANT"?\s*[",]?\s*"?(D\d\d|A|C|E|F\d+)\b', told)
    if light and light[1] != "D50":
        raise ChartError(
            f"{file_name} was computed for illuminant {light[1]}. Export it for D50, 2 degrees."
        )
    if re.search(r'OBSERVER[",\s]+(?:CIE\s+)?(?:1964|10)\b', told):
        raise ChartError(
            f"{file_name} was computed for the 10 degree observer. Export it for D50, 2 degrees."
        )


def _numbers(fields: list[str], rows: list[list[str]], file_name: str) -> FloatArray:
    """All needed columns as (N, len(fields)); columns of words become NaN."""
    if not rows:
        raise ChartError(
            f"{file_name} has no rows between BEGIN_DATA and END_DATA. Export it again."
        )
    wanted = [index for index, field in enumerate(fields) if field in (*_TONES, *_LAB, *_XYZ)]
    for number, row in enumerate(rows, start=1):
        if len(row) != len(fields):
            raise ChartError(
                f"Row {number} of {file_name} has {len(row)} values for {len(fields)} fields. "
                "Export or copy it again."
            )
    table = np.full((len(rows), len(fields)), np.nan)
    try:
        for index in wanted:
            table[:, index] = [float(row[index].replace(",", ".")) for row in rows]
    except ValueError as error:
        raise ChartError(
            f"{file_name} has words where {fields[index]} belongs: {error}. Correct the row."
        ) from None
    if not np.isfinite(table[:, wanted]).all():
        raise ChartError(
            f"{file_name} holds values that are not finite numbers. Correct or measure them again."
        )
    return table


def _columns(fields: list[str], table: FloatArray, wanted: tuple[str, ...]) -> FloatArray:
    return table[:, [fields.index(name) for name in wanted]]


def _tones(fields: list[str], table: FloatArray, file_name: str) -> FloatArray:
    """CMYK (N, 4), 0-1."""
    if not set(_TONES) <= set(fields):
        found = ", ".join(field for field in fields if "_" in field) or "none"
        raise ChartError(
            f"{file_name} has no fields CMYK_C, CMYK_M, CMYK_Y, CMYK_K (it has: {found}). Print "
            "and measure a CMYK chart."
        )
    percent = _columns(fields, table, _TONES)
    if percent.min() < 0 or percent.max() > 100:
        raise ChartError(
            f"{file_name} has CMYK values from {percent.min():g} to {percent.max():g}. They must "
            "be percent, 0 to 100."
        )
    return percent / 100


def _colours(fields: list[str], table: FloatArray, file_name: str) -> FloatArray:
    """CIELAB (N, 3): as given, else from XYZ on either of its scales."""
    if set(_LAB) <= set(fields):
        return _columns(fields, table, _LAB)
    if set(_XYZ) <= set(fields):
        xyz = _columns(fields, table, _XYZ)
        return xyz_to_lab(xyz / (100 if xyz[:, 1].max() > _LARGEST_SHARE else 1))
    raise ChartError(
        f"{file_name} holds neither LAB_L, LAB_A, LAB_B nor XYZ_X, XYZ_Y, XYZ_Z. Export colours "
        "(D50, 2 degrees) beside the CMYK values, not spectra or densities alone."
    )


def _averaged(cmyk: FloatArray, lab: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Each CMYK once, in ascending order, with the mean of its colours."""
    patches, place, count = np.unique(
        cmyk.round(4), axis=0, return_inverse=True, return_counts=True
    )
    sums = np.zeros((len(patches), 3))
    np.add.at(sums, place.reshape(-1), lab)
    return patches, sums / count[:, np.newaxis]


def _check_patches(cmyk: FloatArray, file_name: str) -> None:
    """Refuse charts that leave too much of the print to guesses."""
    if not MIN_PATCHES <= len(cmyk) <= MAX_PATCHES:
        raise ChartError(
            f"{file_name} has {len(cmyk)} different patches. Use a chart of {MIN_PATCHES} to "
            f"{MAX_PATCHES}, with the tones of all four inks mixed."
        )
    if cmyk.sum(axis=1).min() > 0:
        raise ChartError(f"{file_name} has no patch of bare paper (CMYK 0 0 0 0). Measure one.")
    for ink, tones in zip("CMYK", cmyk.T, strict=True):
        if tones.max() < _SOLID:
            raise ChartError(
                f"{file_name} shows {ink} only up to {100 * tones.max():.0f} %. Use a chart with "
                "the solid inks."
            )


def check_agreement(chart: Chart, file_name: str) -> None:
    """Refuse measurements that do not belong to their CMYK values.

    Raises
    ------
    ChartError
        The patches contradict each other.
    """
    missed = float(np.percentile(held_out_delta_e_2000(chart.cmyk, chart.lab), _FORETOLD))
    if missed > MAX_CONTRADICTION:
        raise ChartError(
            f"The patches of {file_name} contradict each other: nine in ten should be foretold by "
            f"the others within dE00 {MAX_CONTRADICTION:g}, but it takes {missed:.1f}. Check that "
            "every measurement stands beside its own CMYK values."
        )


def _read_only(array: FloatArray) -> FloatArray:
    array.flags.writeable = False
    return array
